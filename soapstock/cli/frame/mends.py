"""What mends an error, in the words of the command line: one line for each key of an error.

A key's values stand in braces. Another face has a table of its own.
"""

from __future__ import annotations

from soapstock.errors import MendKey, SoapstockError

WORDS: dict[MendKey, str] = {
    "add_recipe": "add one with: soapstock recipe add FILE.toml",
    "choose_target": "give one of --have tallow=1250g, --fat 2kg, --bars 24, --volume 1800ml",
    "confirm": "if it is right, add --sure",
    "count_store": "for that: soapstock count {lot} store MASS",
    "declare": "give the weight to declare: --declared 113g",
    "expect_sales": "add --expect BARS",
    "find_shop": "begin one with: soapstock start DIR, or name one with --shop DIR",
    "give_lye": "give --naoh 150g --water 300g",
    "give_reason": 'add --why "{example}"',
    "give_result": "add --pass or --fail",
    "give_weighed": "add --weighed {ingredient}=MASS",
    "leave_result_out": "leave out --pass and --fail",
    "list_allergens": "see soapstock rules eu --allergens",
    "list_lots": "soapstock lots lists what is here",
    "map_columns": "map them with --mapping FILE.toml",
    "name_as_poured": "add --names poured",
    "name_customer": "add --to NAME",
    "name_person": 'add --by NAME, or set by = "your name" in shop.toml',
    "name_place": "add --from {place}",
    "name_raw_lots": "soapstock receive {ingredient} ...; then give --from LOT=MASS",
    "name_source": "give --supplier NAME, or --animal REFERENCE for fat you rendered",
    "receive": "soapstock receive {ingredient} --mass ...",
    "record_refused_pour": (
        "if it already stands in the mould: --record-anyway REASON records it on hold"
    ),
    "record_titration": "soapstock test {lot} --method titration --value FIGURE",
    "say_what_was_wrong": 'add --because "what was wrong"',
    "see_history": "see soapstock scan {lot}",
    "ship_short": 'to send it: --short --why "..."',
    "start_shop": "begin one with: soapstock start {folder}",
    "unmould": "unmould it first: soapstock unmould {lot}",
}


def help_of(error: SoapstockError) -> str:
    """How to mend an error: its plain help, then what to type; empty when it has neither."""
    words = ""
    if error.mend is not None:
        words = WORDS[error.mend.key].format(**error.mend.values)
    join = " " if error.hint.endswith("?") else "; "
    return join.join(part for part in (error.hint, words) if part)
