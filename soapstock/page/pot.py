"""At the pot: one ingredient at a time, each mass judged at once, the lye behind its cautions.

All that was entered so far stands in the page's address, so that going back, loading again or a
phone that slept loses nothing, and nothing half-poured stands anywhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from soapstock.chemistry.cooling import Reading
from soapstock.desk.desk import Desk
from soapstock.errors import BadInput, NotFound
from soapstock.page.forms import day_of, figure_of, pointed, warmth_of
from soapstock.page.lots import entered
from soapstock.page.site import Given, Visit, given, is_key, new_key, visit
from soapstock.page.words import say
from soapstock.recipes.scaling import Target
from soapstock.units import parse_mass_g
from soapstock.views.clocks import USUAL_ROOM_C, Clocks, clocks
from soapstock.views.lye import LyeRow, Mix, learnt_of, lye_row
from soapstock.views.pot import PotView, pot

router = APIRouter()
Seen = Annotated[Visit, Depends(visit)]
Sent = Annotated[Given, Depends(given)]
MASS, LOT = "m.", "l."  # how the names of the fields of an ingredient begin
HELD = ("bars", "fat", "have", "ready", "pot", "room")  # what else the address carries
CLOCKS = ("t.lye", "t.fats")  # readings of each vessel: `minute:temperature`, minutes since 1970
MOST_READINGS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class SoFar:
    """What was entered so far: the target, the masses and lots, and whether lye is prepared for."""

    texts: Mapping[str, str]

    @property
    def weighed(self) -> dict[str, Decimal]:
        """Grams by ingredient. Raises BadInput."""
        return {
            name[len(MASS) :]: parse_mass_g(_grams(text), name[len(MASS) :])
            for name, text in self.texts.items()
            if name.startswith(MASS) and text
        }

    @property
    def target(self) -> Target:
        """What is poured for. Raises BadInput."""
        bars, fat, have = (self.texts.get(key, "") for key in HELD[:3])
        if have:
            key, _, mass = have.partition(":")
            return Target(have=(key, parse_mass_g(_grams(mass), key)))
        if fat:
            return Target(total_fat_g=parse_mass_g(_grams(fat), say("pot.fat")))
        if not (bars.isascii() and bars.isdigit() and len(bars) < 6):
            raise BadInput(say("pot.no_target"))
        return Target(bars=int(bars))

    @property
    def pot(self) -> str:
        """The pot's own key: it is poured once, however often its last page is sent."""
        return self.texts.get("pot", "")

    @property
    def ready(self) -> bool:
        """The person said that the lye is prepared for as the cautions ask."""
        return self.texts.get("ready") == "yes"

    def address(self, **changes: str) -> str:
        """All this as the query of an address, with changes; an empty one takes away."""
        return urlencode({k: v for k, v in {**self.texts, **changes}.items() if v})

    def readings(self, clock: str) -> list[Reading]:
        """What was read of a vessel so far; what is no reading is left out."""
        found = []
        for one in self.texts.get(clock, "").split(","):
            minute, _, warmth = one.partition(":")
            if minute.isdecimal() and len(minute) < 10 and _is_warmth(warmth):
                found.append(Reading(minute=float(minute), c=float(warmth)))
        return found[-MOST_READINGS:]

    def weighings(self) -> list[str]:
        """The masses as the entry takes them: `name=mass@LOT`."""
        lots = {k[len(LOT) :]: v for k, v in self.texts.items() if k.startswith(LOT) and v}
        return [
            f"{key}={mass}g" + (f"@{lots[key]}" if key in lots else "")
            for key, mass in self.weighed.items()
        ]


def _grams(text: str) -> str:
    text = pointed(text.strip())
    return f"{text}g" if text.replace(".", "", 1).isdigit() else text


def _is_warmth(text: str) -> bool:
    return text.replace(".", "", 1).isdecimal() and text.isascii() and len(text) < 8


def _so_far(texts: Mapping[str, str]) -> SoFar:
    kept = {
        name: value.strip()[:60]
        for name, value in texts.items()
        if name in HELD or name.startswith((MASS, LOT))
    }
    kept |= {name: texts[name].strip()[:300] for name in CLOCKS if name in texts}
    if not is_key(kept.get("pot", "")):
        kept["pot"] = new_key()
    return SoFar(texts=kept)


@router.get("/pot")
def choose(seen: Seen) -> HTMLResponse:
    """Choose what to pour, and how much."""
    from soapstock.views.recipes import list_recipes

    with seen.site.open() as desk:
        rows = [row for row in list_recipes(desk) if not row.retired]
    return seen.page("pot_choose.html", rows=rows)


@router.get("/pot/{code}")
def get_ready(seen: Seen, request: Request, code: str) -> HTMLResponse:
    """What to have at hand before anything is weighed."""
    far = _so_far(request.query_params)
    with seen.site.open() as desk:
        found = pot(desk, code, far.target, far.weighed)
    return seen.page("pot_ready.html", code=code, far=far, found=found)


@router.get("/pot/{code}/{step}")
def weigh(seen: Seen, request: Request, code: str, step: str) -> Response:
    """Weigh one ingredient; or the end of a pour."""
    far = _so_far(request.query_params)
    now = int(seen.site.clock().timestamp() // 60)
    if step == "end" and (read := _read_now(far, request.query_params, now)):
        return RedirectResponse(f"/pot/{code}/end?{far.address(**read)}", status_code=303)
    with seen.site.open() as desk:
        found = pot(desk, code, far.target, far.weighed)
        clock = _cooling(desk, found) if step == "end" else None
        both = _clocks(desk, found, far, now) if step == "end" else None
    keys = [line.key for line in found.lines]
    lye = next((n for n, line in enumerate(found.lines) if line.is_lye), 0)
    if step not in (*keys, "lye", "end"):
        raise NotFound(say("error.no_page"))
    at = len(keys) if step == "end" else lye if step == "lye" else keys.index(step)
    if at >= lye and step != "lye" and not far.ready:
        return RedirectResponse(f"/pot/{code}/lye?{far.address()}", status_code=303)
    missing = [key for key in keys[:at] if key not in far.weighed]
    if missing:
        return RedirectResponse(f"/pot/{code}/{missing[0]}?{far.address()}", status_code=303)
    values: dict[str, Any] = {"code": code, "far": far, "found": found, "keys": keys, "at": at}
    if step == "lye":
        return seen.page("pot_lye.html", **values)
    if step == "end":
        return seen.page("pot_end.html", clock=clock, both=both, now=now, typed=far.texts, **values)
    return seen.page("pot_weigh.html", line=found.lines[at], **values)


def _read_now(far: SoFar, texts: Mapping[str, str], now: int) -> dict[str, str]:
    """What the address holds besides once temperatures were read; empty when none was.

    Raises:
        BadInput: not a temperature.
    """
    read = {}
    for clock in CLOCKS:
        text = pointed(texts.get(f"{clock}.now", "").strip())
        if not text:
            continue
        if not _is_warmth(text):
            raise BadInput(say("pot.no_warmth"))
        before = [f"{one.minute:.0f}:{one.c:g}" for one in far.readings(clock)]
        read[clock] = ",".join([*before, f"{now}:{float(text):g}"][-MOST_READINGS:])
    return read


def _clocks(desk: Desk, found: PotView, far: SoFar, now: int) -> Clocks:
    """How both vessels cool, as far as it is known."""
    room = far.texts.get("room", "")
    room_c = float(room) if _is_warmth(room) else USUAL_ROOM_C
    lye, fats = (far.readings(clock) for clock in CLOCKS)
    return clocks(desk, found.recipe, lye, fats, room_c, float(now))


def _cooling(desk: Desk, found: PotView) -> LyeRow | None:
    """What is known of the lye: how hot it may get, and when it stands where one pours."""
    plan = found.plan
    mix = Mix(naoh_g=plan.naoh_g, koh_g=plan.koh_g, water_g=plan.water_g)
    if not plan.water_g:  # a milk holds the water: no table covers it
        return None
    return lye_row(mix, learnt_of(desk))


@router.post("/pot/{code}/pour")
def pour(seen: Seen, request: Request, sent: Sent, code: str) -> Response:
    """Enter the pour as weighed; judged once more, then written at once."""
    from soapstock.enter.pour import Conditions
    from soapstock.enter.pour import pour as enter_pour

    far = _so_far(sent.texts)
    if sent.key != far.pot:
        raise BadInput(say("error.no_key"))
    if not far.ready:
        raise BadInput(say("pot.not_ready"))
    conditions = Conditions(
        lye_c=warmth_of(sent, "lye_c"),
        fats_c=warmth_of(sent, "fats_c"),
        room_c=warmth_of(sent, "room"),
        room_rh=figure_of(sent, "rh"),
        trace_minutes=figure_of(sent, "trace"),
        mould=sent.text("mould"),
    )
    with seen.site.open(seen.phone.person, key=sent.key, said=sent.said, at=sent.at) as desk:
        done = enter_pour(
            desk,
            code,
            far.weighings(),
            target=far.target,
            conditions=conditions,
            on=day_of(sent, seen.site.today()),
            record_anyway=sent.text("anyway"),
            sure=sent.text("sure") == "yes",
            again=True,
            note=sent.text("note"),
        )
    return entered(seen, request, _told(done), back=f"/lot/{done.lot_code.shown}")


def _told(done: object) -> object:
    from soapstock.enter.entered import Entered
    from soapstock.enter.pour import Poured

    if not isinstance(done, Poured):
        raise TypeError("a pour hands back what was poured")
    said = say(
        "pot.poured",
        name=done.recipe.name,
        lot=done.lot_code.shown,
        word=done.judgement.verdict.word.upper(),
    )
    notes = (*done.judgement.verdict.reasons, *done.judgement.differences)
    held = (say("pot.held"),) if done.held else ()
    return Entered(entry_id=done.entry_id, lot_code=done.lot_code, said=said, notes=(*held, *notes))
