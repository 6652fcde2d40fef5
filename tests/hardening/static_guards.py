"""What may reach outside the program, and the modules that may: read off the syntax tree.

Not a search in the text: a word in a comment is no offence, and an alias hides nothing.
"""

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "reporter"

FILE_METHODS = {"read_bytes", "read_text", "write_bytes", "write_text"}
FILE_CALLS = {"open", "io.open", "io.open_code", "os.open", "os.fdopen", "codecs.open"}
IMAGE_CALLS = {
    "PIL.Image.open", "cv2.imread", "cv2.imdecode", "cv2.imreadmulti", "cv2.VideoCapture",
    "matplotlib.image.imread", "matplotlib.pyplot.imread", "numpy.load", "numpy.fromfile",
    "numpy.loadtxt", "numpy.genfromtxt", "av.open", "reportlab.lib.utils.ImageReader",
}  # fmt: skip
PROCESS_MODULES = {"subprocess", "multiprocessing", "pty", "pebble", "distributed"}
PROCESS_CALLS = {
    "os.system", "os.popen", "os.fork", "os.forkpty", "os.startfile", "os.posix_spawn",
    *(f"os.exec{form}" for form in ("l", "le", "lp", "lpe", "v", "ve", "vp", "vpe")),
    *(f"os.spawn{form}" for form in ("l", "le", "lp", "lpe", "v", "ve", "vp", "vpe")),
}  # fmt: skip
NETWORK_MODULES = {
    "socket", "socketserver", "ssl", "http", "urllib", "ftplib", "smtplib", "poplib", "imaplib",
    "xmlrpc", "asyncio", "selectors", "webbrowser", "requests", "httpx", "aiohttp", "websockets",
    "tornado", "distributed",
}  # fmt: skip
CODE_CALLS = {"eval", "exec", "compile", "__import__", "importlib.import_module", "runpy.run_path",
              "runpy.run_module", "reportlab.lib.rl_safe_eval.rl_safe_eval"}  # fmt: skip
CODE_MODULES = {"pickle", "cPickle", "shelve", "marshal", "dill", "cloudpickle", "code", "ctypes",
                "jinja2", "mako", "tkinter"}  # fmt: skip
YAML_CALLS = {
    f"yaml.{name}"
    for name in ("load", "load_all", "safe_load", "safe_load_all", "full_load", "full_load_all",
                 "unsafe_load", "unsafe_load_all", "parse", "scan", "compose")
}  # fmt: skip
DATABASE_MODULES = {"sqlite3"}
TEMPORARY_MODULES = {"tempfile", "shutil"}


@dataclass(frozen=True)
class Use:
    """One place where something reaches outside."""

    module: str
    line: int
    kind: str
    what: str


def names_of(tree: ast.AST) -> dict[str, str]:
    """Return what each imported name of a module stands for, in full."""
    names: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                names[alias.asname or alias.name.split(".")[0]] = (
                    alias.name if alias.asname else alias.name.split(".")[0]
                )
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                names[alias.asname or alias.name] = f"{node.module}.{alias.name}"
    return names


def full_name(node: ast.expr, names: Mapping[str, str]) -> str:
    """Return the dotted name an expression stands for; empty for anything else."""
    if isinstance(node, ast.Name):
        return names.get(node.id, node.id)
    if isinstance(node, ast.Attribute):
        around = full_name(node.value, names)
        return f"{around}.{node.attr}" if around else ""
    return ""


def uses(module: str, text: str) -> Iterator[Use]:
    """Yield every place of a module that reaches outside."""
    tree = ast.parse(text)
    names = names_of(tree)
    for node in ast.walk(tree):
        line = getattr(node, "lineno", 0)
        for kind, what in _kinds(node, names):
            yield Use(module, line, kind, what)


def _kinds(node: ast.AST, names: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    if isinstance(node, ast.Import):
        for alias in node.names:
            yield from _imported(alias.name)
    elif isinstance(node, ast.ImportFrom) and node.module:
        for alias in node.names:
            yield from _imported(f"{node.module}.{alias.name}")
    elif isinstance(node, (ast.Name, ast.Attribute)) and isinstance(node.ctx, ast.Load):
        # Named, not only called: a function that is handed on is called elsewhere.
        name = full_name(node, names)
        for kind, known in (("file", FILE_CALLS), ("picture", IMAGE_CALLS), ("code", CODE_CALLS),
                            ("process", PROCESS_CALLS), ("yaml", YAML_CALLS)):  # fmt: skip
            if name in known:
                yield kind, name
        if isinstance(node, ast.Attribute):
            if node.attr in FILE_METHODS:
                yield "file", node.attr
            elif node.attr == "open" and name not in FILE_CALLS | IMAGE_CALLS:
                yield "file", "open"
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
        if node.func.attr in ("format", "format_map"):
            yield "format", node.func.attr
    elif isinstance(node, ast.keyword) and node.arg == "shell":
        yield "process", "shell="


def _imported(name: str) -> Iterator[tuple[str, str]]:
    top = name.split(".")[0]
    if name.startswith("urllib.parse"):
        return  # takes addresses apart and opens none
    for kind, known in (("network", NETWORK_MODULES), ("process", PROCESS_MODULES),
                        ("code", CODE_MODULES), ("database", DATABASE_MODULES),
                        ("temporary", TEMPORARY_MODULES)):  # fmt: skip
        if top in known:
            yield kind, top


# Who may, and why. A module that is not named here may not; one that no longer does is to be
# taken out. A folder stands for everything in it.
ALLOWED: dict[str, dict[str, str]] = {
    "file": {
        "safe_open": "the one place where a file that a lesson or a user names is opened",
        "publish": "the one place where a finished file is written",
        "bundled": "data that comes with the program",
        "story/drills": "drills that come with the program",
        "typeset/brand": "brands that come with the program",
        "typeset/faces": "typefaces that come with the program",
        "typeset/read_layout": "layouts that come with the program",
        "speech": "translations that come with the program",
        "commands/screen": "the log of a fault of our own; the null device once nobody reads",
        "batch/manifest": "the list a batch keeps while it goes; links are refused",
        "batch/fingerprint": "digests of inputs; pipes and devices are refused",
        "batch/pack": "regular files of a lesson, to be sent to a worker",
        "batch/work": "files that came with an order, in a folder that goes again; /proc",
        "archive/files": "a folder of the shelf, to make its names last",
        "archive/sqlite/opening": "/proc/locks, to name who holds the shelf",
        "commands/shelf_options": "the handout that this run has just written",
        "commands/shelf_rights": "one packed file, under a temporary name until it is whole",
        "desk/clips": "compares a picture with what would be written there",
        "desk/lesson_file": "compares the lesson file with what was read before it is replaced",
        "commands/desk": "asks for the browser of the system; no file of anybody is opened",
        "desk/assets": "the page's own files, by a fixed table",
        "video/contact_sheet": "a typeface that comes with the program",
    },
    "picture": {
        "session/frames": "the one place where a lesson's picture is decoded",
        "session/heic_worker": "HEIC, in a process of its own",
        "handout/proof_raster": "a JPEG that we have just made, from memory",
        "video/reading": "the one place where a clip is decoded, from a file that is open already",
    },
    "yaml": {"yaml_source": "the one reader, with all its guards"},
    "process": {
        "session/heic": "one fixed command without anything of the user's in it",
        "batch/workers": "worker processes of our own",
        "batch/work": "watches over the process that gave it its orders",
        "batch/cluster": "a cluster the user has named; an optional part",
        "archive/importing": "our own reader of foreign PDFs, apart and limited",
    },
    "network": {
        "batch/cluster": "a cluster the user has named; an optional part",
        "archive/sqlite/opening": "the name of this computer alone",
        "archive/postgresql": "the server that the academy has named; an optional part",
        "desk/server": "the worksheet's page, on the loopback address alone",
        "desk/guards": "status numbers alone",
        "commands/desk": "asks the system's browser to show the page",
    },
    "code": {},
    "database": {"archive": "the shelf; no SQL stands elsewhere"},
    "temporary": {
        "commands/screen": "where the log of a fault lies",
        "batch/work": "a folder for files that came with an order",
    },
    "format": {
        "speech": "sentences of our own; what fills the places is never a pattern",
        "archive/sqlite/store": "table names of our own",
        "archive/postgresql/store": "table names of our own",
        "draw/archival": "patterns of our own",
        "draw/structure": "references of the page writer, no patterns",
        "measure/entry": "words of our own catalogue",
        "measure/reference_page": "words of our own catalogue",
        "story/changes": "words of our own catalogue",
        "typeset/__init__": "the page number in a sentence of our own",
        "typeset/furniture": "the page number in a sentence of our own",
        "typeset/blocks/flight_picture": "words of our own",
    },
}


def module_name(path: Path, package: Path = PACKAGE) -> str:
    """Return the name of a module in the tables."""
    return path.relative_to(package).with_suffix("").as_posix()


def may(kind: str, module: str) -> bool:
    """Tell whether a module stands in the table, by itself or by its folder."""
    places = ALLOWED[kind]
    return module in places or any(module.startswith(f"{place}/") for place in places)
