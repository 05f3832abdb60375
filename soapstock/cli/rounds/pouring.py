"""The questions of `pour`: each mass in turn, what it leads to, what mends it, and then the pot."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from typer import Abort

from soapstock.cli.frame.asking import in_grams, tell_again
from soapstock.cli.frame.output import say, say_cautions, say_notes, table
from soapstock.errors import BadInput, SoapstockError
from soapstock.units import format_g, mass_words

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.enter.pour import Poured
    from soapstock.recipes.at_pot import PotMend, PotSoFar, Reach
    from soapstock.recipes.pour import PourJudgement
    from soapstock.recipes.recipe import Recipe
    from soapstock.recipes.scaling import Target

HELP = (
    "Enter: weighed as planned. A bare number is grams; 4 lb 2 oz and 1320g@LOT are taken too.",
    "b: back one line. NAME=MASS: correct any line, or add another fat (castor=80).",
    "0: none of this fat. Ctrl-C: stop; nothing is written, and how to go on is said.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What was answered: the masses as `pour` takes them, and what the maker said of them."""

    masses: list[str]
    target: Target | None
    sure: bool = False
    anyway: str = ""


@dataclass(slots=True, kw_only=True)
class PourRound:
    """One round of questions at the pot; nothing is written before `record` is called.

    Attributes:
        given: masses that are known already, such as those of a pour that was stopped.
        ask: asks and hands back what was typed.
        record: writes the pour, or raises what is wrong with it.
    """

    opened: Desk
    recipe: Recipe
    given: Answers
    ask: Callable[[str], str]
    record: Callable[[Answers], Poured]
    target: Target | None = field(init=False)
    pot: PotSoFar = field(init=False)
    peak_c: float | None = field(default=None, init=False)
    warned: bool = field(default=False, init=False)
    lots: dict[str, str] = field(default_factory=dict)
    was: dict[str, Decimal] = field(default_factory=dict)

    def run(self) -> Poured:
        """Ask until the pour is written.

        Raises:
            BadInput: a mass that was given at the start is not understood.
        """
        from soapstock.recipes.at_pot import PotSoFar
        from soapstock.views.recipes import lot_saponification

        self.target = self.given.target
        self.pot = PotSoFar(
            recipe=self.recipe,
            planned={},
            weighed={},
            scale_step_g=self.opened.shop.scale_step_g,
            sv=lot_saponification(self.opened, self.recipe),
        )
        self._plan(self.target)
        for text in self.given.masses:
            self._take(*_parted(text))
        self._get_ready()
        while True:
            try:
                done = self._step()
            except SoapstockError as err:
                tell_again(err)
                continue
            if done is not None:
                return done

    def _get_ready(self) -> None:
        """Say what is wanted at hand, the cautions of this recipe, and what may be typed."""
        from soapstock.recipes.notes import liquid_cautions

        say(f"Masses as weighed for {self.recipe.name}, one at a time.")
        if self.opened.shop.get_ready:
            say("At hand:")
            say_notes(self.opened.shop.get_ready)
        say_notes(liquid_cautions(self.recipe))
        say_notes(HELP)

    def _step(self) -> Poured | None:
        line = next((key for key in self._order() if key not in self.pot.weighed), None)
        if line is None:
            return self._finish()
        self._one(line)
        return None

    def _asked(self, question: str) -> str:
        """What was typed; when the round is stopped there, how to go on is said first."""
        try:
            return self.ask(question).strip()
        except (KeyboardInterrupt, Abort):
            self._say_how_to_go_on()
            raise

    def _say_how_to_go_on(self) -> None:
        if not self.pot.weighed:
            return
        said = " ".join(f"-w {shlex.quote(mass)}" for mass in self._masses())
        say("")
        say("Nothing is written. To go on from here, type your command again with:")
        print(f"  {said}")  # one line whole, to be copied

    def _order(self) -> list[str]:
        from soapstock.recipes.weighing import needed
        from soapstock.views.pot import in_order

        names = list(dict.fromkeys([*needed(self.recipe), *self.pot.planned]))
        return in_order(self.recipe, names)

    def _plan(self, target: Target | None) -> None:
        from soapstock.enter.pour import planned_batch
        from soapstock.recipes.weighing import planned_weighings

        plan = planned_batch(self.opened, self.recipe, target)
        if plan is not None:
            self.peak_c = plan.peak.peak_c if plan.peak else None
            masses = {w.ingredient: w.mass_g for w in planned_weighings(plan)}
            self.pot = replace(self.pot, planned=masses)

    def _one(self, key: str) -> None:
        if key in ("naoh", "koh") and not self.warned:
            self._warn()
        typed = self._asked(self._question(key))
        if typed in ("b", "B"):
            self._back()
        elif typed == "?":
            say_notes(HELP)
        elif not typed:
            if key not in self.pot.planned:
                raise BadInput("there is no plan yet", hint="give the mass")
            self._set(key, format_g(self.pot.planned[key]))
        else:
            self._typed(typed, key)

    def _warn(self) -> None:
        """The cautions, once, where they are read: before the lye is weighed."""
        from soapstock.chemistry.cautions import lye_cautions

        self.warned = True
        say_cautions(lye_cautions(self.peak_c), head="LYE BURNS. Before you weigh and mix it:")

    def _question(self, key: str) -> str:
        from soapstock.recipes.at_pot import line_name

        planned, there = self.pot.planned.get(key), self.was.get(key)
        words = [f"planned {mass_words(planned)}"] if planned is not None else []
        if there is not None:
            words.append(f"{mass_words(there)} so far")
        return f"  {', '.join([line_name(key), *words])}"

    def _back(self) -> None:
        if not self.pot.weighed:
            raise BadInput("this is the first line")
        self._drop(list(self.pot.weighed)[-1])

    def _drop(self, key: str) -> None:
        rest = {k: m for k, m in self.pot.weighed.items() if k != key}
        self.pot = replace(self.pot, weighed=rest)

    def _typed(self, typed: str, key: str | None) -> None:
        """A mass for the line that is asked, or NAME=MASS for any line or another fat."""
        name, equals, mass = typed.partition("=")
        if not equals and key is None:
            raise BadInput(f"'{typed}' is not understood", hint="write NAME=MASS to correct a line")
        self._set(name if equals else str(key), mass if equals else typed)

    def _set(self, name: str, mass: str) -> None:
        self._after(self._take(name, mass))

    def _take(self, name: str, mass: str) -> str:
        """Note a mass of a line; hand back its key."""
        from soapstock.desk.ingredients import canonical
        from soapstock.recipes.weighing import parse_weighed

        grams, at, lot = mass.strip().partition("@")
        bare = "0" if grams.strip() == "0" else in_grams(grams)
        one = parse_weighed(f"{name}={bare}{at}{lot}", self.recipe, canonical)
        self._drop(one.ingredient)
        self.pot = replace(self.pot, weighed={**self.pot.weighed, one.ingredient: one.mass_g})
        self.lots.pop(one.ingredient, None)
        self.was.pop(one.ingredient, None)
        if one.lot is not None:
            self.lots[one.ingredient] = one.lot
        return one.ingredient

    def _after(self, key: str) -> None:
        """Say what the mass leads to and, where it is off, what mends it."""
        from soapstock.recipes.at_pot import (
            is_far_off,
            pot_mends,
            still_reachable,
            would_be_refused,
        )
        from soapstock.recipes.scaling import Target

        if not self.pot.planned and self.pot.weighed[key]:
            self._plan(Target(have=(key, self.pot.weighed[key])))
        if not self.pot.planned:
            return
        say(f"    {_reach_words(still_reachable(self.pot))}")
        if would_be_refused(self.pot):
            say("    As it stands this pot is refused: do not pour it.")
        mends = pot_mends(self.pot, key)
        if mends or is_far_off(self.pot, key):
            self._mend(key, mends)

    def _mend(self, key: str, mends: tuple[PotMend, ...]) -> None:
        say(
            "    That is off its plan."
            + (" What mends it:" if mends else " Look at the scale again.")
        )
        for number, one in enumerate(mends, 1):
            say(f"    {number}  {one.words}")
        first = "Its number, " if mends else ""
        typed = self._asked(f"  {first}b to weigh it again, or Enter to go on")
        if typed in ("b", "B"):
            self._drop(key)
        elif typed.isdecimal() and 1 <= int(typed) <= len(mends):
            self._follow(mends[int(typed) - 1])
        elif typed:
            self._typed(typed, None)

    def _follow(self, mend: PotMend) -> None:
        """Take a mend's plan; what must be added to, or used in part, is asked again."""
        self.pot, self.target = replace(self.pot, planned=mend.planned), None
        for key, there in self.pot.weighed.items():
            if abs(mend.planned.get(key, there) - there) > self.pot.scale_step_g:
                self.was[key] = there
                self._drop(key)

    def _finish(self) -> Poured | None:
        """Judge the whole pot, then write it, or go back to a line."""
        from soapstock.enter.pour import judge_masses

        answers = Answers(masses=self._masses(), target=self.target)
        judged = judge_masses(self.opened, self.recipe.code, answers.masses, target=self.target)
        self._show(judged)
        refused = judged.verdict.word == "refuse"
        if refused:
            wanted = "NAME=MASS corrects a line, b the last; anyway REASON if it is in the mould"
        elif judged.far_off:
            wanted = "sure if these masses are right; NAME=MASS corrects a line, b the last"
        else:
            wanted = "Enter writes it down; NAME=MASS corrects a line, b the last"
        typed = self._asked(f"  {wanted}")
        if typed in ("b", "B"):
            self._back()
        elif refused and typed.startswith("anyway "):
            return self.record(replace(answers, anyway=typed.removeprefix("anyway ").strip()))
        elif typed == "sure" and not refused:
            return self.record(replace(answers, sure=True))
        elif not typed and not refused and not judged.far_off:
            return self.record(answers)
        elif typed:
            self._typed(typed, None)
        return None

    def _masses(self) -> list[str]:
        return [
            f"{key}={format_g(mass) if mass else '0'}"
            + (f"@{self.lots[key]}" if key in self.lots else "")
            for key, mass in self.pot.weighed.items()
        ]

    def _show(self, judged: PourJudgement) -> None:
        from soapstock.recipes.at_pot import line_name

        planned = self.pot.planned
        rows = [
            [line_name(k), mass_words(m), mass_words(planned[k]) if k in planned else "not planned"]
            for k, m in self.pot.weighed.items()
        ]
        right = ["Weighed", "Planned"]
        table("The pot", ["Ingredient", *right], rows, right=right, whole=right)
        say(f"Verdict: {judged.verdict.word.upper()}")
        say_notes(judged.verdict.reasons)
        say_notes(judged.differences)
        if judged.slip:
            say_notes([f"Likeliest slip: {judged.slip}"])


def _parted(text: str) -> tuple[str, str]:
    name, equals, mass = text.partition("=")
    if not equals:
        raise BadInput(f"'{text}' is not understood", hint="write it like tallow=1320g")
    return name, mass


def _reach_words(reach: Reach) -> str:
    """What can still come of the pot, in a line."""
    from soapstock.chemistry.lye import span_text

    if reach.lost:
        return "LYE-HEAVY: no honest choice of the rest takes up this lye. Do not go on."
    rest = f"superfat {span_text(reach.as_planned)} if the rest goes as planned"
    if reach.low == reach.high:
        return f"superfat {span_text(reach.as_planned)}"
    return f"{rest}; {reach.low:.0f} to {reach.high:.0f} % can be reached"
