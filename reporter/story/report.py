"""What the handout says, as data: sheets of blocks, in the order they are read.

Every text here is finished wording; every number is finished too. Where things go on the paper
is decided by the next stage.
"""

from dataclasses import dataclass, field
from typing import Literal

from reporter.measure.measurement import Comparison, Mark
from reporter.story.sketch import Sketch

State = Literal["before", "after", "wanted"]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of a paragraph, bold or not."""

    text: str
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text. ``style``: lead, title, heading, body, note, quote."""

    runs: tuple[Run, ...]
    style: Literal["lead", "title", "heading", "body", "note", "quote"]
    source: str = ""


@dataclass(frozen=True, slots=True)
class Thoughts:
    """The key thoughts, largest text of the sheet, each with its reason."""

    items: tuple[tuple[str, str], ...]
    source: str = "thoughts"


@dataclass(frozen=True, slots=True)
class Still:
    """One frame on the page: a photograph, or a figure drawn from its points.

    Attributes
    ----------
    frame : str
        The frame's id, by which its pixels are asked for.
    state : str
        before or after.
    caption, alt : str
        Printed above; read aloud instead of the picture.
    size : tuple of int
        Width and height of the upright picture in pixels.
    points : mapping of name to (x, y)
        All marked points that can be seen, in pixels.
    marks : tuple of (number, Mark)
        The measures drawn on it, with their tag numbers.
    photograph : bool
        False where only the drawn figure may be shown.
    outline : tuple of closed lines
        Of the body before, in pixels of the picture, drawn thin and dashed; empty unless asked.
    """

    frame: str
    state: State
    caption: str
    alt: str
    size: tuple[int, int]
    points: dict[str, XY]
    marks: tuple[tuple[int, Mark], ...] = ()
    photograph: bool = True
    outline: tuple[tuple[XY, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One measure of a pair in finished words.

    ``values`` are before and after for the drawn scale, with their half intervals; None where
    the absolute value may not be shown. ``group`` collects rows that share one scale.
    """

    number: int
    name: str
    before: str
    after: str
    difference: str
    plus_minus: str
    verdict: str
    note: str = ""
    values: tuple[tuple[float, float], tuple[float, float]] | None = None
    group: str = "deg"
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True)
class Inset:
    """Both measured lines from one point: directions in degrees clockwise from straight up."""

    caption: str
    reference: Literal["plumb", "level"]
    before_degrees: float
    after_degrees: float
    label: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two stills of one position side by side, or one alone, with what was measured."""

    heading: str
    before: Still | None
    after: Still | None
    rows: tuple[MeasureRow, ...]
    sentence: str = ""
    inset: Inset | None = None
    source: str = "pairs"
    large: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Short facts side by side: a label and what it is, large."""

    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ChainLink:
    """One link from the club to the landing: label, one or two strong lines, how it is known."""

    label: str
    lines: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Chain:
    """What the club did, how the ball started, how it curved, where it landed."""

    links: tuple[ChainLink, ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """One flight: metres down the line, to the right, and up, from the ball to the landing."""

    state: State
    label: str
    points: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Region:
    """Where face and path may lie: centre and half widths of the 95 % region, in degrees.

    ``outline`` is its true slanted outline as (path, face), where it is known.
    """

    state: State
    label: str
    path: float
    face: float
    path_half: float
    face_half: float
    outline: tuple[XY, ...] = ()


@dataclass(frozen=True, slots=True)
class HazardBlock:
    """A hazard in the view from above: its nearer edge, and to which side it goes on from there.

    Attributes
    ----------
    right : float
        The edge from the target line, right positive [m].
    away : int
        1 where the hazard lies to the right of its edge, -1 to the left.
    out : float
        Down the target line [m].
    label : str
        Finished words.
    """

    right: float
    away: int
    out: float
    label: str


@dataclass(frozen=True, slots=True)
class FlightPicture:
    """The flight from above and from the side, face and path, and which of nine shapes it is.

    Attributes
    ----------
    curves : tuple of Curve
        Seen first, then wanted.
    start_degrees : float
        Start direction of the first curve, right positive.
    start_label, curve_label, apex_label : str
        Finished words for the dimensions.
    fairway_width, unit_length : float
        In metres; `unit_length` is one metre or one yard in metres.
    unit : str
        m or yd.
    regions : tuple of Region
        Where face and path lie, and where they are wanted.
    corridor : tuple of (path, face)
        Corners of the strip that keeps the ball on the fairway; empty if unknown.
    shape : int or None
        1 to 9.
    shape_text, alt_above, alt_face_path, alt_side, alt_shapes : str
        Finished words.
    right_handed : bool
        For the side on which the feet are drawn.
    hazard : HazardBlock or None
        Where the ball must not land.
    """

    curves: tuple[Curve, ...]
    start_degrees: float
    start_label: str
    curve_label: str
    apex_label: str
    fairway_width: float
    fairway_label: str
    unit: str
    unit_length: float
    regions: tuple[Region, ...]
    corridor: tuple[XY, ...]
    shape: int | None
    shape_text: str
    alt_above: str
    alt_face_path: str
    alt_side: str
    alt_shapes: str
    right_handed: bool
    hazard: HazardBlock | None = None


@dataclass(frozen=True, slots=True)
class ShareRow:
    """A share of shots with its range, all as fractions of 1, and its finished words."""

    name: str
    counted: str
    words: str
    low: float
    value: float
    high: float
    state: State


@dataclass(frozen=True, slots=True)
class ShareChart:
    """Shares under each other on one scale from none to all; `aside` says how they are known."""

    heading: str
    aside: str
    rows: tuple[ShareRow, ...]
    alt: str


@dataclass(frozen=True, slots=True)
class ShotPicture:
    """Where every shot landed, seen from above, and the shares counted and computed.

    Attributes
    ----------
    shots : tuple of (right, down the line)
        Landings in metres; where `in_order` is set the second number is the place in the table.
    centre : (right, down the line) or None
        Middle of the shots, where they tell one.
    ellipse, wanted : tuple of (right, down the line)
        Outline that the next shot falls into 9 times in 10, now and with the wanted delivery;
        empty if unknown.
    fairway_width, unit_length : float
        In metres; `unit_length` is one metre or one yard in metres.
    charts : tuple of ShareChart
        What stands beside the plan.
    more_heading, more : str and tuple of (label, text)
        What further shots would tell, below the charts; empty where there are enough.
    """

    shots: tuple[XY, ...]
    in_order: bool
    centre: XY | None
    centre_label: str
    ellipse: tuple[XY, ...]
    ellipse_label: str
    wanted: tuple[XY, ...]
    wanted_label: str
    fairway_width: float
    fairway_label: str
    unit: str
    unit_length: float
    heading: str
    aside: str
    charts: tuple[ShareChart, ...]
    more_heading: str
    more: tuple[tuple[str, str], ...]
    alt: str


@dataclass(frozen=True, slots=True)
class DegreesTable:
    """What a change of delivery does: a heading, and rows of finished words under columns."""

    heading: str
    aside: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class DrillCard:
    """One drill to practise, ready to print; `lines` are label and text in their order."""

    number: int
    name: str
    lines: tuple[tuple[str, str], ...]
    small_lines: tuple[tuple[str, str], ...]
    tally: tuple[int, int]
    sketch: Sketch | None
    alt: str


@dataclass(frozen=True, slots=True)
class Drills:
    """The drills side by side."""

    cards: tuple[DrillCard, ...]
    right_handed: bool
    source: str = "drills"


@dataclass(frozen=True, slots=True)
class VisitCell:
    """What one visit has of one part of practice: text, boxes to tick, or a count to write."""

    text: str = ""
    ticks: int = 0
    out_of: int = 0


@dataclass(frozen=True, slots=True)
class Visits:
    """The dated practice visits as a sheet to fill in: a row a visit, a column a part."""

    heading: str
    aside: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[VisitCell, ...]], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class SideNotes:
    """Paragraphs side by side, such as two if-then lines."""

    items: tuple[tuple[Run, ...], ...]
    source: str = "plan"


@dataclass(frozen=True, slots=True)
class LinkCode:
    """An address as a code to scan and as text; `alt` stands in for the code when read aloud."""

    label: str
    address: str
    description: str
    alt: str


@dataclass(frozen=True, slots=True)
class Labelled:
    """A label in the margin and small running text beside it, such as cautions."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class WritingLines:
    """Empty lines for somebody's hand; where they grow, there are more where there is room."""

    label: str
    lines: int
    grow: bool = True


@dataclass(frozen=True, slots=True)
class RangeCard:
    """The card for the bag: thoughts, one drill's gate or sketch, a tally by visit."""

    thoughts: tuple[str, ...]
    sketch: Sketch | None
    sketch_alt: str
    tally_heading: str
    days: tuple[str, ...]
    out_of: int
    note: str
    right_handed: bool


@dataclass(frozen=True, slots=True)
class RecordTable:
    """Label and value rows of the record strip; `key` tells one table of a handout from another."""

    rows: tuple[tuple[str, str], ...]
    key: str = "record"


@dataclass(frozen=True, slots=True)
class TrendRow:
    """One count of hits on one day with its interval, as fractions of 1, and its words."""

    day: str
    counted: str
    words: str
    low: float
    value: float
    high: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Trend:
    """Counts of hits day by day on one scale; `aside` says what was counted."""

    heading: str
    aside: str
    rows: tuple[TrendRow, ...]
    alt: str


@dataclass(frozen=True, slots=True)
class PointSpot:
    """A point that was to be refined: where it was clicked and where it counts, in pixels."""

    number: int
    clicked: XY
    place: XY
    words: str


@dataclass(frozen=True, slots=True)
class PointsPicture:
    """One frame with its points, for the coach to look over; `note` says why nothing was done."""

    still: Still
    heading: str
    spots: tuple[PointSpot, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class ValueSpot:
    """One lesson's value on a chart.

    ``place`` is its day from 0, the first of the page, to 1, the last; ``broken`` says that no
    line leads here from the value before, because the camera is another.
    """

    place: float
    low: float
    value: float
    high: float
    broken: bool = False


@dataclass(frozen=True, slots=True)
class ValueChart:
    """One measure over the lessons, small, with its finished words.

    Attributes
    ----------
    heading, aside : str
        What is measured, and how it is read.
    state : str
        before or after the work of the lesson: open or filled, as everywhere.
    spots : tuple of ValueSpot
        In order of days.
    limits : (centre, lower, upper) or None
        Within which chance alone moves the value.
    low, high : float
        Ends of the upright scale, in the unit of the values.
    ticks : tuple of (value, text)
        On the upright scale.
    days : (first, last)
        Of the page, below the chart.
    verdict, numbers, reason : str
        Whether it has changed, by how much, and why that is said.
    """

    heading: str
    aside: str
    state: State
    spots: tuple[ValueSpot, ...]
    limits: tuple[float, float, float] | None
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]
    days: tuple[str, str]
    verdict: str
    numbers: str
    reason: str
    alt: str


@dataclass(frozen=True, slots=True)
class ValueCharts:
    """Small charts side by side, all over the same days."""

    charts: tuple[ValueChart, ...]


@dataclass(frozen=True, slots=True)
class Contents:
    """What stands on which page: the day, what it is, and the page's number."""

    heading: str
    rows: tuple[tuple[str, str, str], ...]


Block = (
    Paragraph
    | Thoughts
    | Pair
    | Facts
    | Chain
    | FlightPicture
    | ShotPicture
    | DegreesTable
    | Drills
    | Visits
    | SideNotes
    | LinkCode
    | Labelled
    | WritingLines
    | RangeCard
    | RecordTable
    | Trend
    | PointsPicture
    | ValueCharts
    | Contents
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A part of the handout that starts on a page of its own."""

    kind: Literal[
        "today", "why", "changed", "practise", "card", "guardian", "progress", "record", "recap"
    ]
    title: str
    blocks: tuple[Block, ...]
    foot: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """The whole handout in words and numbers.

    ``footer`` fills the cells of the title block; ``sheet_of`` has the fields number and count.
    """

    title: str
    author: str
    language: str
    subject: str
    academy: str
    footer: tuple[str, ...]
    sheet_of: str
    sheets: tuple[Sheet, ...]
    warnings: tuple[str, ...] = field(default=())
