"""What can be entered of a lot: each form's fields, and the entry it makes.

One template draws every form, one route takes every form; a form is a row here and its words in
`text/en.toml`. What is entered is judged in `enter/`, the same as for every face.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Literal

from soapstock.desk.desk import Desk
from soapstock.errors import BadInput
from soapstock.page.site import Given
from soapstock.page.words import say
from soapstock.units import parse_temperature_c

if TYPE_CHECKING:
    from soapstock.cure.words import Decision
    from soapstock.enter.entered import Entered

Kind = Literal["count", "mass", "figure", "words", "day", "place", "choice"]
Enter = Callable[[Desk, str, Given, date | None], "Entered"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a form.

    Attributes:
        choices: of a `choice`, the values; each has words of its own.
        more: it is seldom needed, and stands folded away.
    """

    name: str
    kind: Kind
    required: bool = False
    start: str = ""
    choices: tuple[str, ...] = ()
    more: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form: its fields, and the function that enters what they say."""

    key: str
    fields: tuple[Field, ...]
    enter: Enter


ON = Field(name="on", kind="day", more=True)
NOTE = Field(name="note", kind="words", more=True)
WHY = Field(name="why", kind="words", required=True)
FROM = Field(name="from", kind="place", more=True)
BARS = Field(name="bars", kind="count", required=True)


def count_of(given: Given, name: str, missing: int | None = None) -> int:
    """The whole number in a field. Raises BadInput."""
    text = given.text(name)
    if not text and missing is not None:
        return missing
    if not re.fullmatch(r"[0-9]{1,7}", text):
        raise BadInput(say("error.no_count", field=say(f"field.{name}.label"), text=text[:40]))
    return int(text)


def pointed(text: str) -> str:
    """A typed figure with a point for its comma: many phones offer only one of the two.

    Raises:
        BadInput: the comma may part thousands, so that the figure has two meanings.
    """
    if re.search(r"[0-9],[0-9]{3}(?![0-9])", text):
        raise BadInput(say("error.comma", text=text[:40]))
    return text.replace(",", ".")


def mass_of(given: Given, name: str) -> str:
    """The mass in a field; a number alone is grams, as the field says. Raises BadInput."""
    text = pointed(given.text(name))
    return f"{text}g" if re.fullmatch(r"[0-9]+(\.[0-9]*)?", text) else text


def warmth_of(given: Given, name: str) -> float | None:
    """The temperature in a field, C; a number alone is Celsius, as the field says."""
    text = pointed(given.text(name))
    if not text:
        return None
    plain = re.fullmatch(r"-?[0-9]+(\.[0-9]*)?", text)
    return parse_temperature_c(f"{text}C" if plain else text, say(f"field.{name}.label"))


def figure_of(given: Given, name: str) -> float | None:
    """The number in a field, or None."""
    text = pointed(given.text(name))
    if not text:
        return None
    if not re.fullmatch(r"[0-9]{1,6}(\.[0-9]{1,6})?", text):
        raise BadInput(say("error.no_figure", field=say(f"field.{name}.label"), text=text[:40]))
    return float(text)


def _unmould(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.batch import unmould

    counted = count_of(given, "counted", 0)
    return unmould(
        desk,
        lot,
        count_of(given, "bars"),
        mass_of(given, "mass"),
        counted=counted or None,
        rejects=count_of(given, "rejects", 0),
        place=given.text("place") or "rack",
        on=on,
        note=given.text("note"),
    )


def _weigh(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.batch import weigh

    return weigh(
        desk,
        lot,
        count_of(given, "bars"),
        mass_of(given, "mass"),
        place=given.text("place") or None,
        room_c=warmth_of(given, "room"),
        room_rh=figure_of(given, "rh"),
        on=on,
        note=given.text("note"),
    )


def _test(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.batch import test

    passed = {"passed": True, "failed": False}.get(given.text("outcome"))
    return test(
        desk,
        lot,
        given.text("method"),
        passed=passed,
        value=given.text("value"),
        on=on,
        note=given.text("note"),
    )


def _move(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.move import move

    return move(
        desk,
        lot,
        count_of(given, "bars"),
        given.text("to"),
        from_place=given.text("from") or None,
        on=on,
        note=given.text("note"),
    )


def _waste(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.move import waste

    return waste(
        desk,
        lot,
        str(count_of(given, "bars")),
        given.text("why"),
        from_place=given.text("from") or None,
        on=on,
    )


def _sell(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.move import ship

    return ship(
        desk,
        lot,
        count_of(given, "bars"),
        customer=given.text("customer"),
        from_place=given.text("from") or None,
        on=on,
        note=given.text("note"),
    )


def _count(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.move import count

    return count(
        desk,
        lot,
        given.text("place"),
        str(count_of(given, "bars")),
        on=on,
        note=given.text("note"),
    )


def _declare(desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.declare import declare

    return declare(desk, lot, mass_of(given, "mass"), given.text("why"), on=on)


def _decide(decision: Decision, desk: Desk, lot: str, given: Given, on: date | None) -> Entered:
    from soapstock.enter.decide import decide

    return decide(desk, lot, decision, given.text("why"), on=on)


METHODS = ("tongue", "phenolphthalein", "titration", "ph")
OUTCOMES = ("", "passed", "failed")
MASS = Field(name="mass", kind="mass", required=True)
PLACE = Field(name="place", kind="place", more=True)

FORMS: Mapping[str, Form] = {
    form.key: form
    for form in (
        Form(
            key="unmould",
            fields=(
                BARS,
                MASS,
                Field(name="rejects", kind="count", start="0"),
                Field(name="place", kind="place", start="rack"),
                Field(name="counted", kind="count", more=True),
                ON,
                NOTE,
            ),
            enter=_unmould,
        ),
        Form(
            key="weigh",
            fields=(
                BARS,
                MASS,
                PLACE,
                Field(name="room", kind="figure", more=True),
                Field(name="rh", kind="figure", more=True),
                ON,
                NOTE,
            ),
            enter=_weigh,
        ),
        Form(
            key="test",
            fields=(
                Field(name="method", kind="choice", required=True, choices=METHODS),
                Field(name="outcome", kind="choice", choices=OUTCOMES),
                Field(name="value", kind="figure"),
                ON,
                NOTE,
            ),
            enter=_test,
        ),
        Form(
            key="move",
            fields=(BARS, Field(name="to", kind="place", required=True), FROM, ON, NOTE),
            enter=_move,
        ),
        Form(
            key="sell",
            fields=(
                BARS,
                Field(name="customer", kind="words", required=True),
                FROM,
                ON,
                NOTE,
            ),
            enter=_sell,
        ),
        Form(
            key="count",
            fields=(Field(name="place", kind="place", required=True), BARS, ON, NOTE),
            enter=_count,
        ),
        Form(key="waste", fields=(BARS, WHY, FROM, ON), enter=_waste),
        Form(key="release", fields=(WHY, ON), enter=partial(_decide, "release")),
        Form(key="hold", fields=(WHY, ON), enter=partial(_decide, "hold")),
        Form(key="declare", fields=(MASS, WHY, ON), enter=_declare),
    )
}


def day_of(given: Given, today: date) -> date | None:
    """The day a fact happened: as typed, else the day it was entered on the phone.

    Raises:
        BadInput: not a day.
    """
    text = given.text("on")
    if text:
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise BadInput(say("error.no_day", text=text[:40])) from None
    return min(given.at.astimezone().date(), today) if given.at else None
