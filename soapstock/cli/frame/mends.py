"""What mends an error, in the words of the command line: one line for each key of an error.

A key's values stand in braces. Another face has a table of its own.
"""

from __future__ import annotations

from soapstock.errors import MendKey, SoapstockError

WORDS: dict[MendKey, str] = {
    "add_recipe": "add one with: soapstock recipe add FILE.toml",
    "audit": "soapstock audit says what is wrong",
    "choose_target": "give one of --have tallow=1250g, --fat 2kg, --bars 24, --volume 1800ml",
    "confirm": "if it is right, add --sure",
    "count_store": "for that: soapstock count {lot} store MASS",
    "declare": 'declare it first: soapstock declare {lot} MASS --why "..."',
    "expect_sales": "add --expect BARS",
    "find_shop": "begin one with: soapstock start DIR, or name one with --shop DIR",
    "give_lye": "give --naoh 150g --water 300g",
    "give_note": 'add --note "{example}"',
    "give_reason": 'add --why "{example}"',
    "give_result": "add --pass or --fail",
    "give_weighed": "add --weighed {ingredient}=MASS",
    "leave_result_out": "leave out --pass and --fail",
    "list_allergens": "see soapstock rules eu --allergens",
    "list_backups": "list them: soapstock backup --list",
    "list_batches": "list batches: soapstock curing",
    "list_entries": "list them: soapstock entries",
    "list_lots": "soapstock lots lists what is here",
    "list_orders": "list them: soapstock order list",
    "map_columns": "map them with --mapping FILE.toml",
    "migrate": "bring it up to date (a backup is made first): soapstock migrate",
    "name_as_poured": "add --names poured",
    "name_customer": "add --to NAME",
    "name_market": 'name the market, or who buys: --at "Saturday market"',
    "name_person": 'add --by NAME, or set by = "your name" in shop.toml',
    "name_place": "add --from {place}",
    "name_raw_lots": "soapstock receive {ingredient} ...; then give --from LOT=MASS",
    "opening_masses": "give them like tallow=1320g, or --as-recipe if nobody noted them",
    "name_source": "give --supplier NAME, --animal REFERENCE for your own, or --from-before",
    "receive": "soapstock receive {ingredient} --mass ...",
    "record_refused_pour": (
        "if it already stands in the mould: --record-anyway REASON records it on hold"
    ),
    "record_titration": "soapstock test {lot} --method titration --value FIGURE",
    "release": "decide first: soapstock release {lot}",
    "restore_newest": (
        "restore the newest backup: soapstock backup --list, then soapstock restore FILE"
    ),
    "restore_over": "--force restores over it",
    "say_what_was_wrong": 'add --because "what was wrong"',
    "see_history": "see soapstock scan {lot}",
    "set_price": (
        "give --price 7.50, or soapstock price set {recipe} 7.50 --buyer {buyer} --on {day}"
    ),
    "share": "add --shares fair, or --shares first",
    "set_web": "set web in shop.toml, such as https://soap.example; the codes then carry it",
    "ship_short": 'to send it: --short --why "..."',
    "start_or_restore": (
        "make a shop with: soapstock start DIR, or restore a backup: soapstock restore"
    ),
    "start_shop": "begin one with: soapstock start {folder}",
    "take_up": 'to pour it again: soapstock recipe retire {recipe} --back --why "..."',
    "undo": "if that is wrong: soapstock undo {entry} --because WHY",
    "unmould": "unmould it first: soapstock unmould {lot}",
}


def help_of(error: SoapstockError) -> str:
    """How to mend an error: its plain help, then what to type; empty when it has neither."""
    words = ""
    if error.mend is not None:
        words = WORDS[error.mend.key].format(**error.mend.values)
    join = " " if error.hint.endswith("?") else "; "
    return join.join(part for part in (error.hint, words) if part)
