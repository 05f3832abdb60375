"""Write the public pages behind the codes: only what changed, and only over pages of our own.

What was written stands in a small file beside the pages, with the number and hash of the ledger's
last entry then. On the same day and under the same settings only lots that later entries touched
are read again; otherwise every page is made anew, and written where its bytes differ.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import urlsplit

from soapstock import __version__
from soapstock.codes.gs1 import web_root
from soapstock.codes.lot import LotCode
from soapstock.codes.reading import qr_text
from soapstock.errors import BadInput, Mend, RuleBroken
from soapstock.exchange import public_page as pages
from soapstock.exchange.tabular import json_text
from soapstock.labelling.claims import check_claims, in_words, must_mend
from soapstock.outfile import replacing
from soapstock.shop import SHOP_FILE
from soapstock.tables import read_toml
from soapstock.views.public import Public, page_languages, public, recalls_if

if TYPE_CHECKING:
    from soapstock.desk.desk import Desk
    from soapstock.exchange.public_page import Listed, PublicLot, PublicRecall, Site
    from soapstock.ledger.read.reader import Reader
    from soapstock.shop import Shop

RECORD = "soapstock-pages.json"
STOCK = "stock.json"
OURS = b'name="generator" content="soapstock"'
OURS_JSON = b'"made_by": "soapstock"'
LOTS_A_PAGE = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """What a run wrote, or with a check would write.

    Attributes:
        written, removed: paths below the folder.
        unchanged: how many pages stayed as they were.
        lots: lots that have a page.
        left_out: lots that get none though they were released, and why.
    """

    written: tuple[str, ...]
    removed: tuple[str, ...]
    unchanged: int
    lots: int
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """A lot as the record keeps it, enough for the indexes: the rest is read again when needed."""

    code: str
    variety: str
    name: str
    made_on: str
    stands: str
    paths: tuple[str, ...]
    recalls: tuple[int, ...]
    photo: str = ""

    @property
    def listed(self) -> Listed:
        return pages.Listed(
            code=LotCode(self.code),
            path=self.paths[0],
            made_on=date.fromisoformat(self.made_on),
            stands=cast("pages.Stands", self.stands),
        )


@dataclass(slots=True)
class _Record:
    """What the last run left: under which settings, up to which entry, and the pages' hashes."""

    settings: str = ""
    entry: int = 0
    hash: str = ""
    lots: dict[str, _Row] = field(default_factory=dict)
    pages: dict[str, str] = field(default_factory=dict)


def publish(
    desk: Desk, folder: Path, *, check: bool = False, if_recalled: str | None = None
) -> Published:
    """Write the pages of every lot that may be told of, with their indexes.

    Args:
        folder: where the pages go: what the web server shows at the shop's web address.
        check: write nothing, only tell what would change.
        if_recalled: with check, as if this lot were recalled.

    Raises:
        BadInput: the shop has no web address, or a file in the way is not ours.
        RuleBroken: the maker's own words for keeping and use make a claim.
    """
    site, base = _site(desk)
    _refuse_shop(folder)
    record = _read_record(folder)
    settings = _settings(desk.shop, desk.today)
    with desk.reading() as (here, reader):
        number, head = reader.head()
        fresh = record.settings == settings and reader.hash_of(record.entry) == record.hash
        recalls = recalls_if(here, reader, if_recalled)
        lots = _to_read(reader, record, recalls) if fresh else None
        told = public(here, lots, recalls)
        stock = _stock(here) if desk.shop.pages.stock else None
    rows, made = _pages_of(site, base, record.lots if fresh else {}, told, lots)
    if stock is not None:
        made[STOCK] = stock
    kept = _kept(record.pages, rows, made) if fresh else {}
    done = _compare(folder, record, made, kept)
    photos = _new_photos(folder, told)
    shown = {row.photo for row in rows.values()}
    gone = {row.photo for row in record.lots.values()} - shown - {""}
    done.remove.extend(path for path in sorted(gone) if (folder / path).is_file())
    result = Published(
        written=(*(path for path in made if path in done.write), *photos),
        removed=tuple(done.remove),
        unchanged=len(made) - len(done.write) + len(kept),
        lots=len(rows),
        left_out=told.left_out,
    )
    if not check:
        _write_photos(desk, folder, photos)
        _write(folder, {path: made[path] for path in done.write}, done.remove)
        hashes = kept | {path: _sha(text) for path, text in made.items()}
        _write_record(folder, _Record(settings, number, head, rows, hashes))
    return result


def _refuse_shop(folder: Path) -> None:
    """Refuse a folder in which a shop lies: a server that shows it would show the ledger."""
    if (folder / SHOP_FILE).exists():
        raise BadInput(
            f"{folder} is a shop's own folder; whoever shows it shows the ledger",
            hint="give the pages a folder of their own",
        )


def _site(desk: Desk) -> tuple[Site, str]:
    """What stands on every page, and the path of the site's root on its server."""
    shop = desk.shop
    if not shop.web:
        raise BadInput("the shop has no web address", mend=Mend("set_web"))
    for text in shop.pages.use:
        for hit in must_mend(check_claims(text, shop.market)):
            raise RuleBroken(in_words(hit))
    site = pages.Site(
        maker=shop.maker,
        address=shop.address,
        contact=shop.contact,
        languages=page_languages(shop),
        use=shop.pages.use,
    )
    return site, urlsplit(web_root(shop.web)).path.rstrip("/") + "/"


def _settings(shop: Shop, today: date) -> str:
    """A hash of all that decides a page besides the ledger: settings, own files, words, the day."""
    told = hashlib.sha256(f"{__version__} {today} {shop!r}".encode())
    for name in ("allergens.csv", "fats.toml"):
        path = shop.folder / name
        told.update(path.read_bytes() if path.is_file() else b"-")
    told.update(repr(read_toml(pages.WORDS)).encode())
    for path in sorted((Path(pages.__file__).parent / "pages").glob("*.html")):
        told.update(path.read_bytes())
    return told.hexdigest()


def _to_read(reader: Reader, record: _Record, recalls: tuple[PublicRecall, ...]) -> set[LotCode]:
    """The lots whose pages may have changed since the last run."""
    touched = reader.touched_since(record.entry)
    reached: dict[LotCode, list[int]] = defaultdict(list)
    for recall in recalls:
        codes = [code for code, _ in recall.lots]
        for code in codes:
            reached[code].append(recall.key)
        if touched & set(codes):  # how many bars left us stands on every one of its pages
            touched |= set(codes)
    for text in {*record.lots, *reached}:
        before = record.lots[text].recalls if text in record.lots else ()
        if before != tuple(reached.get(LotCode(text), ())):
            touched.add(LotCode(text))
    return touched


def _pages_of(
    site: Site,
    base: str,
    before: Mapping[str, _Row],
    told: Public,
    lots: set[LotCode] | None,
) -> tuple[dict[str, _Row], dict[str, bytes]]:
    """The rows of every lot that has a page, and the pages that had to be made."""
    rows = {code: row for code, row in before.items() if lots is None or code not in lots}
    made: dict[str, bytes] = {}
    changed = {row.variety for code, row in before.items() if code not in rows}
    for lot in told.lots:
        reached = [recall for recall in told.recalls if recall.key in lot.recalls]
        row = _row(lot)
        for path in row.paths:
            made[path] = pages.lot_page(site, lot, reached, depth=path.count("/"))
        rows[row.code] = row
        changed.add(row.variety)
    by_variety: dict[str, list[_Row]] = defaultdict(list)
    for row in rows.values():
        by_variety[row.variety].append(row)
    for variety in sorted(changed & set(by_variety)):
        made |= _variety_pages(site, variety, by_variety[variety])
    listed = [
        pages.Variety(code=code, name=_newest(of)[0].name, lots=len(of))
        for code, of in sorted(by_variety.items())
    ]
    made["index.html"] = pages.index_page(site, listed)
    made["recalls/index.html"] = pages.recalls_page(site, told.recalls)
    made["404.html"] = pages.missing_page(site, base)
    return rows, made


def _row(lot: PublicLot) -> _Row:
    plain = f"lot/{lot.code}/index.html"
    paths: tuple[str, ...] = (plain,)
    if lot.gtin is not None:  # the address that its label carries, first
        linked = urlsplit(qr_text(lot.code, None, lot.gtin)).path.strip("/")
        paths = (f"{linked}/index.html", plain)
    return _Row(
        code=str(lot.code),
        variety=lot.recipe_code,
        name=lot.name,
        made_on=lot.made_on.isoformat(),
        stands=lot.stands,
        paths=paths,
        recalls=lot.recalls,
        photo=lot.photo.path if lot.photo else "",
    )


def _new_photos(folder: Path, told: Public) -> dict[str, int]:
    """Photos whose files are not there yet, by path, each with its entry."""
    shown = {lot.photo.path: lot.photo.key for lot in told.lots if lot.photo}
    return {path: key for path, key in shown.items() if not (folder / path).is_file()}


def _write_photos(desk: Desk, folder: Path, photos: Mapping[str, int]) -> None:
    with desk.reading() as (_, reader):
        for path, key in photos.items():
            where = folder / path
            where.parent.mkdir(parents=True, exist_ok=True)
            with replacing(where, ".jpg") as temporary:
                temporary.write_bytes(reader.photo(key))


def _newest(rows: Iterable[_Row]) -> list[_Row]:
    return sorted(rows, key=lambda row: (row.made_on, row.code), reverse=True)


def _variety_pages(site: Site, variety: str, rows: list[_Row]) -> dict[str, bytes]:
    ordered = _newest(rows)
    parts = [ordered[n : n + LOTS_A_PAGE] for n in range(0, len(ordered), LOTS_A_PAGE)]

    def path(n: int) -> str:
        if not 0 <= n < len(parts):
            return ""
        return f"variety/{variety}/{f'{n + 1}/' if n else ''}index.html"

    return {
        path(n): pages.variety_page(
            site,
            ordered[0].name,
            [row.listed for row in part],
            newer=path(n - 1),
            older=path(n + 1),
            depth=path(n).count("/"),
        )
        for n, part in enumerate(parts)
    }


def _stock(desk: Desk) -> bytes:
    """How many bars of each variety may be sold today, for a web shop."""
    from soapstock.views.public import free_bars

    rows = [{"code": code, "name": name, "bars": n} for code, name, n in free_bars(desk)]
    told = {"made_by": "soapstock", "day": desk.today, "free": rows}
    return (json_text(told) + "\n").encode("utf-8")


@dataclass(frozen=True, slots=True)
class _Done:
    write: set[str]
    remove: list[str]


def _kept(
    before: Mapping[str, str], rows: Mapping[str, _Row], made: Mapping[str, bytes]
) -> dict[str, str]:
    """Pages of the last run that stand as they are: of lots and varieties that still have one."""
    lots = {path for row in rows.values() for path in row.paths}
    varieties = {row.variety for row in rows.values()}
    remade = {path.split("/")[1] for path in made if path.startswith("variety/")}

    def stands(path: str) -> bool:
        if path.startswith("variety/"):  # a variety that changed has all its pages made anew
            return path.split("/")[1] in varieties - remade
        return path in lots and path not in made

    return {path: sha for path, sha in before.items() if stands(path)}


def _compare(
    folder: Path, record: _Record, made: Mapping[str, bytes], kept: Mapping[str, str]
) -> _Done:
    """What must be written and removed. Raises BadInput where a file that is not ours stands."""
    write = set()
    for path, text in made.items():
        there = folder / path
        if record.pages.get(path) == _sha(text) and there.is_file():
            continue
        if there.exists() and not _is_ours(there):
            raise BadInput(
                f"{there} is not a page of ours", hint="give the pages a folder of their own"
            )
        if not (there.is_file() and there.read_bytes() == text):
            write.add(path)
    gone = (path for path in record.pages if path not in made and path not in kept)
    return _Done(write, [p for p in gone if (folder / p).exists() and _is_ours(folder / p)])


def _is_ours(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        head = file.read(1000)
    return (OURS_JSON if path.suffix == ".json" else OURS) in head


def _sha(text: bytes) -> str:
    return hashlib.sha256(text).hexdigest()


def _write(folder: Path, made: Mapping[str, bytes], remove: Iterable[str]) -> None:
    for path, text in made.items():
        where = folder / path
        where.parent.mkdir(parents=True, exist_ok=True)
        with replacing(where, ".html", ".json") as temporary:
            temporary.write_bytes(text)
    for path in remove:
        (folder / path).unlink(missing_ok=True)


def _read_record(folder: Path) -> _Record:
    path = folder / RECORD
    if folder.exists() and not folder.is_dir():
        raise BadInput(f"{folder} is not a folder", hint="name the folder for the pages")
    try:
        data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        rows = {code: _Row(code, *_tuples(values)) for code, values in data["lots"].items()}
        return _Record(data["settings"], data["entry"], data["hash"], rows, data["pages"])
    except (OSError, ValueError, KeyError, TypeError):
        return _Record()  # none, or damaged: every page is made anew


def _tuples(values: Iterable[Any]) -> list[Any]:
    return [tuple(value) if isinstance(value, list) else value for value in values]


def _write_record(folder: Path, record: _Record) -> None:
    lots = {
        r.code: [r.variety, r.name, r.made_on, r.stands, r.paths, r.recalls, r.photo]
        for r in record.lots.values()
    }
    told = {
        "made_by": "soapstock",
        "settings": record.settings,
        "entry": record.entry,
        "hash": record.hash,
        "lots": lots,
        "pages": record.pages,
    }
    folder.mkdir(parents=True, exist_ok=True)
    with replacing(folder / RECORD, ".json") as temporary:
        temporary.write_text(json.dumps(told), encoding="utf-8")
