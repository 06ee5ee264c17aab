"""Bill of materials with the cutting plan of the hose, as a paper and as tables for other programs.

It takes in the assemblies of all runs and the samples that are made again. Hose is charged by the metre that is used
up: pieces, kerfs, trims, and what is left of a reel and too short to keep. Quantities come from the contract, prices
from the shop's own data in the catalog; where an item has no price the sum is one of the others, and says so. The
tables are metric, whatever the paper is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import Any

from hosewright.assembly import Assembly
from hosewright.documents.assembly_data import is_invented
from hosewright.documents.bundle import Bundle
from hosewright.documents.csv_file import table
from hosewright.documents.cutting import CutReel, CuttingPlan, Piece, cutting_plan
from hosewright.documents.sleeves import against_what
from hosewright.documents.tags import ToBuild, to_build
from hosewright.service import remake
from hosewright.words import Texts, read

CENT = Decimal("0.01")
METRE, PIECE = "m", ""
MM_PER_FOOT = 304.8


@dataclass(frozen=True)
class Item:
    """One line of the bill.

    Attributes
    ----------
    kind
        ``hose``, ``hose_special``, ``end``, ``adapter``, ``sleeve`` or ``clamp``.
    name
        What to order, without the words around it.
    quantity, unit
        In metres, or pieces where the unit is empty.
    price
        For one metre or piece; ``None`` where the catalog has none.
    hose_size
        Dash size of the hose that an end is for.
    over
        Largest diameter that a sleeve is drawn over, ferrules included, or that of the hose in a clamp. [mm]
    against
        What a sleeve must withstand, of :mod:`hosewright.documents.sleeves`.
    sleeved
        Whether a clamp goes over a sleeve as well.
    """

    kind: str
    name: str
    quantity: float
    unit: str
    price: float | None
    hose_size: int | None = None
    over: float | None = None
    against: tuple[str, ...] = ()
    sleeved: bool = False

    @property
    def full_name(self) -> str:
        """Name in tables."""
        size = [] if self.hose_size is None else [f"hose -{self.hose_size}"]
        over = [] if self.over is None else [f"over {self.over:g} mm"]
        against = [f"against {' and '.join(self.against)}"] if self.against else []
        return ", ".join([self.name, *size, *over, *(["over a sleeve"] if self.sleeved else []), *against])

    @property
    def total(self) -> Decimal | None:
        """Quantity times price, in hundredths."""
        if self.price is None:
            return None
        return (_exact(self.quantity) * _exact(self.price)).quantize(CENT, ROUND_HALF_UP)


@dataclass(frozen=True)
class HoseCut:
    """One hose with the plan by which it is cut. [mm]

    Attributes
    ----------
    plan
        Its pieces bear their place among ``Bill.built`` as their name.
    """

    hose: str
    price: float | None
    plan: CuttingPlan
    least_offcut: float

    def is_waste(self, reel: CutReel) -> bool:
        """Whether what is left of a reel is too short to keep."""
        return reel.offcut < self.least_offcut

    @property
    def used_up(self) -> float:
        """Pieces, kerfs, trims and waste."""
        waste = sum(reel.offcut for reel in self.plan.reels if self.is_waste(reel))
        return round(self.plan.needed + self.plan.lost + waste, 1)


@dataclass(frozen=True, eq=False)
class Bill:
    """What a job takes.

    Attributes
    ----------
    items
        Hose first, then ends, adapters, sleeves and clamps, each kind in the order of the assemblies.
    built
        The assemblies that it is for.
    stopped
        Assemblies that must not be built: nothing is ordered and nothing cut for them.
    """

    built: tuple[ToBuild, ...]
    items: tuple[Item, ...]
    cuts: tuple[HoseCut, ...]
    stopped: tuple[ToBuild, ...] = ()

    def of(self, piece: Piece) -> ToBuild:
        """The assembly that a piece of hose is for."""
        return self.built[int(piece.name)]

    @property
    def priced(self) -> bool:
        """Whether any item has a price."""
        return any(item.price is not None for item in self.items)

    @cached_property
    def total(self) -> Decimal:
        """Sum of the items that have a price."""
        return sum((item.total for item in self.items if item.total is not None), Decimal(0))

    @property
    def unpriced(self) -> int:
        """Number of items without a price."""
        return sum(item.price is None for item in self.items)


def bill(bundle: Bundle) -> Bill:
    """The bill of a job, by the contract's numbers."""
    told = list(zip(to_build(bundle), _assemblies(bundle), strict=True))
    pairs = [(one, assembly) for one, assembly in told if one.stops is None]
    stopped = tuple(one for one, _ in told if one.stops is not None)
    cuts = tuple(_cuts(pairs, bundle))
    items = (*_hoses(cuts), *_ends(pairs), *_adapters(pairs), *_sleeves(pairs), *_clamps(pairs))
    return Bill(tuple(one for one, _ in pairs), items, cuts, stopped)


Pairs = Sequence[tuple[ToBuild, Assembly]]


def _assemblies(bundle: Bundle) -> Iterator[Assembly]:
    # with their prices, which the contract leaves out
    of_run = {run.run.name: run.run.assembly for run in bundle.result.runs}
    yield from (of_run[run["name"]] for run in bundle.data["runs"])
    samples = (remake(sample, bundle.file.catalog, bundle.date).assembly for sample in bundle.file.samples)
    yield from (assembly for assembly in samples if assembly is not None)


def _exact(number: float) -> Decimal:
    return Decimal(str(number))


def _cuts(pairs: Pairs, bundle: Bundle) -> Iterator[HoseCut]:
    settings = bundle.settings
    reels = [reel * 1e3 for reel in settings.reel_lengths]
    kerf, trim, least = (read(x, "length") or 0.0 for x in (settings.kerf, settings.reel_trim, settings.least_offcut))
    for hose, price in dict.fromkeys((assembly.hose.name, assembly.hose.price) for _, assembly in pairs):
        pieces = [
            Piece(str(place), one.assembly["cut_length_mm"])
            for place, (one, assembly) in enumerate(pairs)
            if (assembly.hose.name, assembly.hose.price) == (hose, price)
        ]
        yield HoseCut(hose, price, cutting_plan(pieces, reels, kerf, trim), least)


def _hoses(cuts: Iterable[HoseCut]) -> Iterator[Item]:
    for cut in cuts:
        if cut.plan.reels:
            yield Item("hose", cut.hose, _metres(cut.used_up), METRE, cut.price)
        for piece in cut.plan.too_long:
            yield Item("hose_special", cut.hose, _metres(piece.length), METRE, cut.price)


def _metres(length: float) -> float:
    return round(length / 1e3, 4)


def _ends(pairs: Pairs) -> Iterator[Item]:
    forms = [end.form for _, assembly in pairs for end in (assembly.a, assembly.b)]
    return _counted("end", [(f"{form.name}, {form.connection}", form.price, form.dash_size) for form in forms])


def _adapters(pairs: Pairs) -> Iterator[Item]:
    found = [one for _, assembly in pairs for end in (assembly.a, assembly.b) for one, _ in end.adapters]
    return _counted("adapter", [(f"{one.name}, {one.port_side} > {one.hose_side}", one.price, None) for one in found])


def _sleeves(pairs: Pairs) -> Iterator[Item]:
    lengths: dict[tuple[str, float | None, tuple[str, ...]], float] = {}
    for one, assembly in pairs:
        data = one.assembly
        if data["sleeve_length_mm"] is not None:
            key = assembly.hose.name, data["sleeve_over_mm"], tuple(data["sleeve_kinds"])
            lengths[key] = lengths.get(key, 0.0) + data["sleeve_length_mm"]
    for (name, over, against), length in lengths.items():
        yield Item("sleeve", name, _metres(length), METRE, None, over=over, against=against)


def _clamps(pairs: Pairs) -> Iterator[Item]:
    found = Counter(
        (assembly.hose.name, one.assembly["outside_diameter_mm"], one.assembly["sleeve"])
        for one, assembly in pairs
        for _ in one.assembly["clamps"]
    )
    for (name, over, sleeved), count in found.items():
        yield Item("clamp", name, float(count), PIECE, None, over=over, sleeved=sleeved)


def _counted(kind: str, found: Sequence[tuple[str, float | None, int | None]]) -> Iterator[Item]:
    for one, count in Counter(found).items():
        name, price, hose_size = one
        yield Item(kind, name, float(count), PIECE, price, hose_size)


# ---- papers and tables ----


def files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """Bill and cutting plan as a paper, and each as a table."""
    made = bill(bundle)
    if not made.built and not made.stopped:
        return
    yield "bill.pdf", bundle.pdf("bill", bundle.texts("bill.title"), _paper(made, bundle))
    yield "bill.csv", table(("kind", "item", "quantity", "unit", "price", "sum"), _bill_rows(made))
    yield "cutting.csv", table(("hose", "reel", "reel_length_mm", "piece", "for", "length_mm"), _cutting_rows(made))


def _bill_rows(made: Bill) -> Iterator[Sequence[Any]]:
    for item in made.items:
        yield item.kind, item.full_name, item.quantity, item.unit or "pcs", _blank(item.price), _blank(item.total)
    for one in made.stopped:
        yield "not to be built", f"{one.assembly['number']}, {one.name}", 0, "pcs", "", ""
    if made.priced:
        missing = f"items without a price: {made.unpriced}" if made.unpriced else ""
        yield "sum", missing, "", "", "", made.total


def _blank(value: Any) -> Any:
    return "" if value is None else value


def _cutting_rows(made: Bill) -> Iterator[Sequence[Any]]:
    for cut in made.cuts:
        for count, reel in enumerate(cut.plan.reels, start=1):
            head = cut.hose, count, reel.length
            yield from ((*head, *_names(piece, made), piece.length) for piece in reel.pieces)
            yield *head, "waste" if cut.is_waste(reel) else "offcut", "", reel.offcut
        yield from ((cut.hose, "", "", *_names(piece, made), piece.length) for piece in cut.plan.too_long)


def _names(piece: Piece, made: Bill) -> tuple[str, str]:
    one = made.of(piece)
    return one.assembly["number"], one.name


def _paper(made: Bill, bundle: Bundle) -> dict[str, Any]:
    return {
        "here": bundle.texts.section("bill"),
        "stops": list(_stops(made)),
        "priced": made.priced,
        "items": [_item(item, bundle) for item in made.items],
        "total": _money(made.total, bundle) if made.priced else None,
        "notes": list(_notes(made, bundle)),
        "cuts": [_cut(cut, made, bundle) for cut in made.cuts],
        "cautions": list(_cautions(made, bundle)),
    }


def _notes(made: Bill, bundle: Bundle) -> Iterator[str]:
    if made.priced and made.unpriced:
        yield bundle.texts("bill.unpriced", count=made.unpriced)
    if made.priced and bundle.settings.units == "us":
        yield bundle.texts("bill.metric_sums")
    left_out = [one["name"] for one in bundle.data["samples"] if one["assembly"] is None]
    if left_out:
        yield bundle.texts("bill.left_out", names=", ".join(left_out))
    if made.stopped:
        yield bundle.texts("bill.not_built", names=", ".join(one.assembly["number"] for one in made.stopped))


def _cautions(made: Bill, bundle: Bundle) -> Iterator[str]:
    if any(is_invented(end) for one in made.built for end in one.assembly["ends"]):
        yield bundle.texts("common.invented_ends")
    yield bundle.texts("common.caution_maker")
    yield bundle.texts("common.caution_approve")


def _stops(made: Bill) -> Iterator[str]:
    """Assemblies that must not be built, each with its reasons in few words."""
    for one in made.stopped:
        yield f"{one.assembly['number']}, {one.name}: {one.stops}"


def _item(item: Item, bundle: Bundle) -> dict[str, Any]:
    figures = bundle.figures
    return {
        "name": _name(item, bundle),
        # what is ordered by the metre is never too short in feet
        "quantity": figures.at_least(item.quantity, METRE) if item.unit == METRE else figures(item.quantity, item.unit),
        "price": None if item.price is None else _unit_price(item, bundle),
        "total": None if item.total is None else _money(item.total, bundle),
    }


def _name(item: Item, bundle: Bundle) -> str:
    over, against = bundle.figures.crimp(item.over), against_what(item.against, bundle.texts)
    kind = item.kind + ("_against" if against else "") + ("_sleeved" if item.sleeved else "")
    name = _ordered(item, bundle.texts)
    return bundle.texts(f"bill.{kind}", name=name, size=item.hose_size, over=over, against=against)


def _ordered(item: Item, texts: Texts) -> str:
    """Name of an item in the language of the paper, and the name to order by where that is another one."""
    form, *sides = item.name.split(", ")
    words = [texts.name(form), *(" > ".join(_connections(side, texts)) for side in sides)]
    written = ", ".join(words)
    return written if written == item.name else f"{written} [{item.name}]"


def _connections(sides: str, texts: Texts) -> list[str]:
    return [texts.name(one, "connections") for one in sides.split(" > ")]


def _unit_price(item: Item, bundle: Bundle) -> str:
    price = _exact(item.price or 0.0)
    if item.unit == METRE and bundle.settings.units == "us":
        price *= _exact(MM_PER_FOOT / 1e3)
    unit = f" / {bundle.figures.unit(METRE)}" if item.unit == METRE else ""
    return _money(price, bundle) + unit


def _money(amount: Decimal, bundle: Bundle) -> str:
    return f"{amount.quantize(CENT, ROUND_HALF_UP)}".replace(".", bundle.texts.decimal_mark)


def _cut(cut: HoseCut, made: Bill, bundle: Bundle) -> dict[str, Any]:
    texts, figures, plan = bundle.texts, bundle.figures, cut.plan
    return {
        "hose": cut.hose,
        "method": texts(f"bill.method_{plan.method.name.lower()}"),
        "terms": texts(
            "bill.terms",
            kerf=figures(plan.kerf, "mm"),
            trim=figures(plan.trim, "mm"),
            least=figures(cut.least_offcut, "mm"),
        ),
        "balance": texts(
            "bill.balance",
            needed=_length(plan.needed, bundle),
            lost=figures(plan.lost, "mm"),
            used=figures.at_least(_metres(cut.used_up), METRE),
        ),
        "reels": [_reel(count, reel, cut, made, bundle) for count, reel in enumerate(plan.reels, start=1)],
        "too_long": [
            texts("bill.too_long", number=made.of(piece).assembly["number"], length=figures.cut(piece.length))
            for piece in plan.too_long
        ],
    }


def _reel(count: int, reel: CutReel, cut: HoseCut, made: Bill, bundle: Bundle) -> dict[str, Any]:
    waste = cut.is_waste(reel)
    return {
        "title": bundle.texts("bill.reel", hose=cut.hose, count=count, length=_length(reel.length, bundle)),
        "pieces": [_piece(piece, made, bundle) for piece in reel.pieces],
        "rest": bundle.texts("bill.waste" if waste else "bill.offcut"),
        "left": bundle.figures(reel.offcut, "mm") if waste else _length(reel.offcut, bundle),
    }


def _piece(piece: Piece, made: Bill, bundle: Bundle) -> dict[str, Any]:
    one = made.of(piece)
    return {
        "number": one.assembly["number"],
        "run": one.name,
        "length": bundle.figures.cut(piece.length),
    }


def _length(length: float, bundle: Bundle) -> str:
    return bundle.figures(_metres(length), METRE)
