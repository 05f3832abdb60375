"""The table [costs] of shop.toml: how it is read, and how it is written for a new shop."""

from __future__ import annotations

from typing import Any, get_args

from soapstock.money.costs import Animal, Costs, OwnFat
from soapstock.tables.fields import Fields

MOST = 10_000_000
AMOUNTS = ("hour", "wage", "minutes_pour", "minutes_bar", "energy_pour", "packing_bar")


def read_costs(top: Fields) -> Costs:
    """The settings of cost. Raises BadInput naming file, line and key."""
    known = ("own_fat", "fat_kg", "animals", "kept_carry", *AMOUNTS)
    names = top.data.get("costs")
    table = top.table("costs", known)
    values: dict[str, Any] = {key: table.exact(key, 0, MOST) for key in AMOUNTS if table.has(key)}
    if table.has("own_fat"):
        values["own_fat"] = table.choice("own_fat", get_args(OwnFat))
    if table.has("kept_carry"):
        values["kept_carry"] = table.flag("kept_carry")
    prices = names.get("fat_kg") if isinstance(names, dict) else None
    below = table.table("fat_kg", list(prices) if isinstance(prices, dict) else ())
    values["fat_kg"] = {key: below.exact(key, 0, MOST) for key in below.data}
    values["animals"] = {
        name: Animal(cost=row.exact("cost", 0, MOST), percent=row.exact("percent", 0, 100))
        for name, row in table.tables("animals", ("cost", "percent")).items()
    }
    return Costs(**values)


def costs_text(costs: Costs) -> str:
    """The table [costs]; what is not set is a comment."""
    own = costs.own_fat
    lines = [
        "[costs]              # for soap whose costs you follow; amounts in your currency",
        f'own_fat = "{own}"   # fat off your own farm: nothing, bought, sold, animal, or unsaid',
    ]
    shown = {
        "hour": "what an hour of your own work counts for in the cost of a bar",
        "wage": "what you would like to earn an hour",
        "minutes_pour": "work on a batch where you record none: on the pour,",
        "minutes_bar": "and on each bar of it",
        "energy_pour": "where you record none",
        "packing_bar": "where you record none",
    }
    for key, why in shown.items():
        value = getattr(costs, key)
        lines.append(f"{key} = {value}    # {why}" if value else f"# {key} = 0    # {why}")
    kept = "kept_carry = true" if costs.kept_carry else "# kept_carry = true"
    lines.append(f"{kept}   # bars kept back carry a share of the cost")
    lines += ["", "[costs.fat_kg]      # a kg of your own fat, bought or sold, raw or rendered"]
    lines += [f'"{key}" = {value}' for key, value in costs.fat_kg.items()]
    for name, animal in costs.animals.items():
        quoted = name.replace("\\", "\\\\").replace('"', '\\"')
        lines += ["", f'[costs.animals."{quoted}"]', f"cost = {animal.cost}"]
        lines += [f"percent = {animal.percent}"]
    if not costs.fat_kg:
        lines.append("# raw-beef-tallow = 2.20")
    if not costs.animals:
        lines += ["", '# [costs.animals."steer 14"]', "# cost = 1450", "# percent = 2"]
        lines[-1] += "        # of it is carried by its fat"
    if costs == Costs():
        lines = [line if line.startswith("#") or not line else f"# {line}" for line in lines]
    return "\n".join(lines)
