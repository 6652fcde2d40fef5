"""Read a table of shots, strictly: every number, row and column is what it says or is refused.

The file is CSV: one header line, commas, UTF-8, numbers with a point. A column's unit stands in
its header, as in ``carry_m`` or ``carry (yd)``. Right of the target is positive for everybody.
"""

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from reporter.complaints import nearest_name
from reporter.errors import InputRefusedError, Problem, printable
from reporter.session.characters import check_characters
from reporter.units import (
    ANGLE_UNITS,
    LENGTH_UNITS,
    SPEED_UNITS,
    SPIN_UNITS,
    Factor,
    parse_number,
    shown,
)

LARGEST_FILE_BYTES = 4 * 1024 * 1024
MOST_ROWS = 20_000
MOST_PROBLEMS = 50
MOST_COLUMNS = 100


@dataclass(frozen=True, slots=True)
class Quantity:
    """What one column may hold.

    Attributes
    ----------
    key : str
        The name in `ShotTable.columns`; its ending is the base unit.
    units : mapping of str to Factor
        The units its header may name.
    smallest, largest : float
        In the base unit; anything outside is a slip.
    meaning : str
        In a few words.
    """

    key: str
    units: Mapping[str, Factor]
    smallest: float
    largest: float
    meaning: str


_FIELD_LENGTHS = {name: LENGTH_UNITS[name] for name in ("m", "yd", "ft")}
_DEGREES = {"deg": ANGLE_UNITS["deg"]}

QUANTITIES: Mapping[str, Quantity] = {
    "start": Quantity("start_deg", _DEGREES, -90.0, 90.0, "start direction"),
    "launch": Quantity("launch_deg", _DEGREES, -10.0, 90.0, "start angle above the ground"),
    "axis": Quantity("axis_deg", _DEGREES, -90.0, 90.0, "lean of the spin axis"),
    "face": Quantity("face_deg", _DEGREES, -60.0, 60.0, "direction of the face"),
    "path": Quantity("path_deg", _DEGREES, -60.0, 60.0, "direction of the head's travel"),
    "attack": Quantity("attack_deg", _DEGREES, -30.0, 30.0, "angle of attack, up positive"),
    "bend": Quantity("bend_m", _FIELD_LENGTHS, -200.0, 200.0, "sideways from the start line"),
    "offline": Quantity(
        "offline_m", _FIELD_LENGTHS, -300.0, 300.0, "landing beside the target line"
    ),
    "carry": Quantity("carry_m", _FIELD_LENGTHS, 0.0, 400.0, "length through the air"),
    "head_speed": Quantity("head_speed_m_per_s", SPEED_UNITS, 0.5, 120.0, "speed of the club head"),
    "ball_speed": Quantity("ball_speed_m_per_s", SPEED_UNITS, 0.5, 120.0, "speed of the ball"),
    "spin": Quantity("spin_rpm", SPIN_UNITS, 0.0, 20_000.0, "spin"),
}
CLUB = "club"
_UNIT_SPELLINGS = {
    "m_per_s": "m/s",
    "mps": "m/s",
    "kmh": "km/h",
    "km_per_h": "km/h",
    "yards": "yd",
    "metres": "m",
    "degrees": "deg",
}


@dataclass(frozen=True, slots=True)
class ShotTable:
    """The shots of a table.

    Attributes
    ----------
    columns : dict of str to tuple
        By `Quantity.key`: one number a shot in the base unit (metres, degrees with right and up
        positive, metres per second, turns a minute), or None where the cell is empty.
    clubs : tuple of str or None
        The club of each shot, where there is such a column.
    count : int
        Number of shots.
    ignored : tuple of str
        Headers of columns that are not used.
    name : str
        Name of the file.
    lines : tuple of int
        Line of each shot in it, from 1; empty for a table that was put together.
    headers : dict of str to (int, str)
        By `Quantity.key`: number of the column, from 1, and its header as written.
    """

    columns: dict[str, tuple[float | None, ...]]
    clubs: tuple[str | None, ...]
    count: int
    ignored: tuple[str, ...]
    name: str = ""
    lines: tuple[int, ...] = ()
    headers: Mapping[str, tuple[int, str]] = field(default_factory=dict)

    def problem(self, shot: int, key: str, message: str) -> Problem:
        """Return a problem at one cell of a table that was read.

        Parameters
        ----------
        shot : int
            Number of the shot, from 0.
        key : str
            A `Quantity.key`; a column the table does not have is named by it.
        message : str
            What was found, and what is allowed.

        Returns
        -------
        Problem
            With file, line, column and header.
        """
        column, header = self.headers.get(key, (0, key))
        return Problem(self.name, self.lines[shot], column, header, message)


@dataclass(frozen=True, slots=True)
class _Column:
    header: str
    quantity: Quantity | None
    factor: float = 1.0
    is_club: bool = False


def read_shots(data: bytes, name: str, declared: Mapping[str, str] | None = None) -> ShotTable:
    """Read a table of shots.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name for the messages.
    declared : mapping of str to str, optional
        Units of columns whose header names none, such as ``{"carry": "yd"}``.

    Returns
    -------
    ShotTable
        In base units.

    Raises
    ------
    InputRefusedError
        With the row and column of every fault, as many as fifty.
    """
    text = _decode(data, name)
    # The module's own default is lower than some exports need and no guard of ours.
    csv.field_size_limit(LARGEST_FILE_BYTES)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    problems: list[Problem] = []
    columns: list[_Column] = []
    numbers: dict[str, list[float | None]] = {}
    clubs: list[str | None] = []
    lines: list[int] = []
    row_start = 1
    try:
        for row in reader:
            line, row_start = row_start, reader.line_num + 1
            if not any(cell.strip() for cell in row):
                continue
            if not columns:
                columns = _header(row, name, line, declared or {}, problems)
                numbers = {c.quantity.key: [] for c in columns if c.quantity}
                continue
            lines.append(line)
            if len(lines) > MOST_ROWS:
                problems.append(_at(name, line, 0, "", f"more than {MOST_ROWS} shots"))
                break
            if len(row) != len(columns):
                problems.append(_ragged(name, line, len(row), len(columns)))
            else:
                _take_row(row, columns, numbers, clubs, name, line, problems)
            if len(problems) >= MOST_PROBLEMS:
                break
    except csv.Error as error:
        problems.append(_at(name, row_start, 0, "", _broken(error)))
    if not columns and not problems:
        problems.append(_at(name, 1, 0, "", "the table is empty; it needs a header line"))
    elif not lines and not problems:
        problems.append(_at(name, 1, 0, "", "the table holds no shots"))
    if problems:
        raise InputRefusedError(problems)
    ignored = tuple(c.header for c in columns if c.quantity is None and not c.is_club)
    shots = {key: tuple(values) for key, values in numbers.items()}
    headers = {
        column.quantity.key: (number, printable(column.header.strip()))
        for number, column in enumerate(columns, start=1)
        if column.quantity is not None
    }
    return ShotTable(shots, tuple(clubs), len(lines), ignored, name, tuple(lines), headers)


def _at(name: str, line: int, column: int, field: str, message: str) -> Problem:
    return Problem(name, line, column, field, message)


def _decode(data: bytes, name: str) -> str:
    if len(data) > LARGEST_FILE_BYTES:
        message = f"the table has {len(data)} bytes; at most {LARGEST_FILE_BYTES} are read"
        raise InputRefusedError([_at(name, 0, 0, "", message)])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        message = (
            f"byte {error.start + 1} (0x{error.object[error.start]:02X}) is not UTF-8;"
            " save the table as CSV in UTF-8"
        )
        raise InputRefusedError([_at(name, line, 0, "", message)]) from None
    if "\x00" in text:
        line = text[: text.index("\x00")].count("\n") + 1
        message = "a NUL character; save the table as CSV in UTF-8"
        raise InputRefusedError([_at(name, line, 0, "", message)])
    return text


def _broken(error: csv.Error) -> str:
    if "end of data" in str(error):
        return "a quote that opens here is never closed"
    return "cannot be read as CSV; a quote may be missing or doubled"


def _ragged(name: str, line: int, found: int, wanted: int) -> Problem:
    message = (
        f"the row has {found} cells, the header {wanted}; write decimals with a point, and cells"
        " that hold a comma in quotes"
    )
    return _at(name, line, 0, "", message)


def _header(
    row: list[str], name: str, line: int, declared: Mapping[str, str], problems: list[Problem]
) -> list[_Column]:
    """Return what each column holds."""
    if len(row) == 1 and re.search(r"[;\t|]", row[0]):
        separator = re.findall(r"[;\t|]", row[0])[0]
        message = f"the columns are separated by {shown(separator)}; save the table with commas"
        problems.append(_at(name, line, 1, "", message))
        return [_Column(row[0], None)]
    if len(row) > MOST_COLUMNS:
        message = f"{len(row)} columns; at most {MOST_COLUMNS} are read"
        problems.append(_at(name, line, 1, "", message))
        return [_Column(header, None) for header in row]
    columns: list[_Column] = []
    seen: dict[str, int] = {}
    for number, header in enumerate(row, start=1):
        try:
            column = _column(header, declared)
        except ValueError as error:
            problems.append(_at(name, line, number, printable(header), str(error)))
            column = _Column(header, None)
        key = column.quantity.key if column.quantity else header.strip().lower()
        if key in seen:
            message = f"column {seen[key]} holds the same; keep one of them"
            problems.append(_at(name, line, number, printable(header), message))
        seen.setdefault(key, number)
        columns.append(column)
    if not any(column.quantity for column in columns) and not problems:
        message = f"no column is known; known are {', '.join(QUANTITIES)}, with a unit behind"
        problems.append(_at(name, line, 1, "", message))
    return columns


def _column(header: str, declared: Mapping[str, str]) -> _Column:
    """Return what one column holds, by its header."""
    written = header.strip().lower()
    in_brackets = re.fullmatch(r"(.+?)\s*[(\[]\s*([^()\[\]]+?)\s*[)\]]", written)
    plain, unit = (in_brackets[1], in_brackets[2]) if in_brackets else (written, "")
    plain = re.sub(r"[\s-]+", "_", plain)
    if plain == CLUB and not unit:
        return _Column(header, None, is_club=True)
    if plain not in QUANTITIES and not unit:
        for quantity in QUANTITIES:
            if plain.startswith(f"{quantity}_"):
                plain, unit = quantity, plain.removeprefix(f"{quantity}_")
                break
    if plain not in QUANTITIES:
        near = nearest_name(re.sub(r"_(?:m|yd|deg|mph|rpm)$", "", plain), [*QUANTITIES, CLUB])
        if near:
            message = f'unknown column; did you mean "{near}"?'
            raise ValueError(message)
        return _Column(header, None)
    known = QUANTITIES[plain]
    unit = unit or declared.get(plain, "")
    unit = _UNIT_SPELLINGS.get(unit, unit)
    if unit not in known.units:
        allowed = " or ".join(f"{plain}_{name.replace('/', '_per_')}" for name in known.units)
        found = f"{shown(unit)} is not a unit for it" if unit else "its unit is missing"
        message = f"{found}; write {allowed}"
        raise ValueError(message)
    return _Column(header, known, known.units[unit].in_base_units)


def _take_row(
    row: list[str],
    columns: list[_Column],
    numbers: dict[str, list[float | None]],
    clubs: list[str | None],
    name: str,
    line: int,
    problems: list[Problem],
) -> None:
    """Read one row into the lists."""
    for number, (cell, column) in enumerate(zip(row, columns, strict=True), start=1):
        written = cell.strip(" ")
        try:
            if column.is_club:
                if len(written) > 200:
                    message = f"{len(written)} characters; at most 200 are allowed"
                    raise ValueError(message)
                check_characters(written, lines=False)
                clubs.append(written or None)
            elif column.quantity is not None:
                value = _number(written, column.quantity, column.factor)
                numbers.setdefault(column.quantity.key, []).append(value)
        except ValueError as error:
            problems.append(_at(name, line, number, printable(column.header), str(error)))


def _number(written: str, quantity: Quantity, factor: float) -> float | None:
    if not written:
        return None
    value = parse_number(written) * factor
    if not quantity.smallest <= value <= quantity.largest:
        ends = (quantity.smallest / factor, quantity.largest / factor)
        least, most = (f"{round(end, 1):.9g}" for end in ends)
        message = (
            f"{shown(written)} is out of range: {quantity.meaning} lies between"
            f" {least} and {most} here"
        )
        raise ValueError(message)
    return value
