"""What the pot holds at pour, and the same bar at another water content.

Free acids take the lye first (they neutralise faster than esters saponify); what lye is left is
shared by the esters in proportion to their demand. Mass is kept exactly: soap = fat taken up +
hydroxide - glycerol - water made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from soapstock.chemistry import molar
from soapstock.chemistry.fats import all_fats
from soapstock.chemistry.lye import FatPortion, Lye
from soapstock.errors import BadInput

Metal = Literal["sodium", "potassium"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A mass of something named by its key, g."""

    key: str
    mass_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Soap:
    """Anhydrous soap of one fat and one metal, g; a wax's alcohols are counted in it.

    `moles` is the metal in it, mol.
    """

    fat: str
    metal: Metal
    mass_g: float
    moles: float = 0.0

    @property
    def fatty_acids_g(self) -> float:
        """Fatty acids that acid would set free from it, g: hydrogen in the metal's place."""
        metal = molar.SODIUM if self.metal == "sodium" else molar.POTASSIUM
        return self.mass_g - self.moles * (metal - molar.HYDROGEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """Masses, g, of everything in a batch at one moment.

    Attributes:
        soaps: anhydrous soaps by fat and metal.
        unsaponified: fat left over, by fat, its unsaponifiable matter included.
        glycerol_g, water_g: made and added.
        free_naoh_g, free_koh_g: hydroxide left over (lye-heavy), else 0.
        inert_g: the rest of the lye's assay (carbonate and the like).
        additions: measured additions by key.
    """

    soaps: tuple[Soap, ...]
    unsaponified: tuple[Part, ...]
    glycerol_g: float
    water_g: float
    free_naoh_g: float
    free_koh_g: float
    inert_g: float
    additions: tuple[Part, ...]

    @property
    def dry_g(self) -> float:
        """Everything but water, g."""
        return (
            sum(soap.mass_g for soap in self.soaps)
            + sum(part.mass_g for part in self.unsaponified)
            + sum(part.mass_g for part in self.additions)
            + self.glycerol_g
            + self.free_naoh_g
            + self.free_koh_g
            + self.inert_g
        )

    @property
    def total_g(self) -> float:
        """All of it, g."""
        return self.dry_g + self.water_g

    @property
    def water_fraction(self) -> float:
        """Water over total, fraction 0-1."""
        return self.water_g / self.total_g if self.total_g > 0.0 else 0.0

    @property
    def fatty_matter_fraction(self) -> float:
        """Total fatty matter over total, fraction 0-1: acids of the soaps, and fat left over.

        The figure ISO 685 determines; here from the masses, with the unsaponifiable matter.
        """
        acids = sum(soap.fatty_acids_g for soap in self.soaps)
        left = sum(part.mass_g for part in self.unsaponified)
        return (acids + left) / self.total_g if self.total_g > 0.0 else 0.0

    @property
    def free_alkali_percent(self) -> float:
        """Hydroxide left over, as % NaOH of the total; 0 unless lye-heavy."""
        if self.total_g == 0.0:
            return 0.0
        as_naoh = self.free_naoh_g + self.free_koh_g * molar.NAOH_PER_KOH
        return 100.0 * as_naoh / self.total_g

    def with_total(self, total_g: float) -> Composition:
        """The same dry matter in a bar that now weighs this much, g: the composition at a date.

        Raises:
            BadInput: less than the dry matter: no soap dries below its bones.
        """
        if not total_g >= self.dry_g:
            raise BadInput(f"{total_g:g} g is less than the dry matter, {self.dry_g:g} g")
        return self.with_water(total_g - self.dry_g)

    def with_water(self, water_g: float) -> Composition:
        """The same dry matter with another mass of water, g: the bar at another date.

        Raises:
            BadInput: negative water.
        """
        if not 0.0 <= water_g < float("inf"):
            raise BadInput(f"water {water_g:g} g is not zero or more")
        return replace(self, water_g=water_g)

    def scaled(self, share: float) -> Composition:
        """So much of it (share 0-1): every mass in proportion."""

        def of(parts: tuple[Part, ...]) -> tuple[Part, ...]:
            return tuple(replace(part, mass_g=part.mass_g * share) for part in parts)

        return Composition(
            soaps=tuple(
                replace(s, mass_g=s.mass_g * share, moles=s.moles * share) for s in self.soaps
            ),
            unsaponified=of(self.unsaponified),
            glycerol_g=self.glycerol_g * share,
            water_g=self.water_g * share,
            free_naoh_g=self.free_naoh_g * share,
            free_koh_g=self.free_koh_g * share,
            inert_g=self.inert_g * share,
            additions=of(self.additions),
        )

    def beside(self, other: Composition) -> Composition:
        """The two in one pot that do not react with each other: sums, nothing evened out.

        A lye-heavy part stays lye-heavy beside a fatty one: the safe side, as nobody knows whether
        they met.
        """
        return Composition(
            soaps=(*self.soaps, *other.soaps),
            unsaponified=(*self.unsaponified, *other.unsaponified),
            glycerol_g=self.glycerol_g + other.glycerol_g,
            water_g=self.water_g + other.water_g,
            free_naoh_g=self.free_naoh_g + other.free_naoh_g,
            free_koh_g=self.free_koh_g + other.free_koh_g,
            inert_g=self.inert_g + other.inert_g,
            additions=(*self.additions, *other.additions),
        )


@dataclass(slots=True)
class _Pot:
    """Running sums while the portions react, g and mol."""

    taken_g: dict[str, float]
    moles: dict[str, float]
    left_g: dict[str, float]
    glycerol_g: float = 0.0
    made_water_g: float = 0.0


def _acid_moles(portion: FatPortion) -> float:
    known = all_fats().get(portion.fat)
    if known is not None and known.kind == "acid":
        return molar.equivalents(portion.mass_g, portion.sv.nominal)
    usual = 0.0 if known is None else min(known.acid_value, portion.sv.nominal)
    return molar.equivalents(portion.mass_g, portion.acid_value or usual)


def _react(portions: Sequence[FatPortion], alkali_moles: float) -> tuple[_Pot, float]:
    """Let the alkali meet the fats; returns the sums and the moles of alkali left."""
    acids = [_acid_moles(p) for p in portions]
    esters = [
        molar.equivalents(p.mass_g, p.sv.nominal) - acid
        for p, acid in zip(portions, acids, strict=True)
    ]
    acid_share = min(1.0, alkali_moles / sum(acids)) if sum(acids) > 0.0 else 0.0
    rest = alkali_moles - acid_share * sum(acids)
    ester_share = min(1.0, rest / sum(esters)) if sum(esters) > 0.0 else 0.0
    pot = _Pot(taken_g={}, moles={}, left_g={})
    for portion, acid, ester in zip(portions, acids, esters, strict=True):
        _add(pot, portion, acid * acid_share, ester * ester_share, acid + ester)
    return pot, max(0.0, rest - ester_share * sum(esters))


def _add(pot: _Pot, portion: FatPortion, acid: float, ester: float, demand: float) -> None:
    key = portion.fat
    known = all_fats().get(key)
    usual = 0.0 if known is None else known.moisture_percent
    water_g = portion.mass_g * (portion.moisture_percent or usual) / 100.0
    fat_g = portion.mass_g - water_g
    taken_g = fat_g * (acid + ester) / demand if demand > 0.0 else 0.0
    pot.taken_g[key] = pot.taken_g.get(key, 0.0) + taken_g
    pot.left_g[key] = pot.left_g.get(key, 0.0) + fat_g - taken_g
    pot.moles[key] = pot.moles.get(key, 0.0) + acid + ester
    made_water_g = acid * molar.WATER
    glycerol_g = _glycerol_g(key, ester)
    pot.taken_g[key] -= made_water_g + glycerol_g  # they leave the soap
    pot.made_water_g += made_water_g + water_g
    pot.glycerol_g += glycerol_g


def _glycerol_g(fat: str, ester_moles: float) -> float:
    known = all_fats().get(fat)
    if known is not None and known.kind != "glyceride":
        return 0.0
    return ester_moles / molar.ESTERS_PER_GLYCEROL * molar.GLYCEROL


def composition_at_pour(
    portions: Sequence[FatPortion], lye: Lye, water_g: float, additions: Sequence[Part] = ()
) -> Composition:
    """Composition of the batter once saponified, from the masses weighed into the pot.

    Nominal SVs and assays are used. Total mass equals the mass weighed in.

    Args:
        portions: the fats as weighed.
        lye: the alkali as weighed, with assay.
        water_g: water or other liquid added, g.
        additions: measured additions, g.

    Raises:
        BadInput: negative water or addition.
    """
    for name, mass in (("water", water_g), *((part.key, part.mass_g) for part in additions)):
        if not 0.0 <= mass < float("inf"):
            raise BadInput(f"mass of {name} {mass:g} g is not zero or more")
    naoh_g = lye.naoh_g * lye.naoh_assay_percent.nominal / 100.0
    koh_g = lye.koh_g * lye.koh_assay_percent.nominal / 100.0
    moles = naoh_g / molar.NAOH + koh_g / molar.KOH
    sodium = naoh_g / molar.NAOH / moles if moles > 0.0 else 0.0
    pot, left = _react(portions, moles)
    return Composition(
        soaps=_soaps(pot, sodium),
        unsaponified=tuple(Part(key=k, mass_g=m) for k, m in pot.left_g.items()),
        glycerol_g=pot.glycerol_g,
        water_g=water_g + pot.made_water_g,
        free_naoh_g=left * sodium * molar.NAOH,
        free_koh_g=left * (1.0 - sodium) * molar.KOH if moles > 0.0 else 0.0,
        inert_g=lye.naoh_g - naoh_g + lye.koh_g - koh_g,
        additions=tuple(additions),
    )


def _soaps(pot: _Pot, sodium: float) -> tuple[Soap, ...]:
    found: list[Soap] = []
    shares: tuple[tuple[Metal, float, float], ...] = (
        ("sodium", sodium, molar.NAOH),
        ("potassium", 1.0 - sodium, molar.KOH),
    )
    for key, fat_g in pot.taken_g.items():
        for metal, share, molar_mass in shares:
            mass_g = share * (fat_g + pot.moles[key] * molar_mass)
            if mass_g > 0.0:
                found.append(
                    Soap(fat=key, metal=metal, mass_g=mass_g, moles=share * pot.moles[key])
                )
    return tuple(found)
