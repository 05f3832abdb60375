"""Some of the random histories of tests/ledger/histories.py in every run."""

from tests.ledger import histories


def test_ledger_does_what_the_dictionary_model_says():
    """Taken and refused alike, and the stock at the end."""
    assert histories.play(60, seed=7) > 60
