"""Files, pictures, YAML, processes, network and code are reached from named modules only."""

import pytest

from tests.hardening.static_guards import ALLOWED, PACKAGE, may, module_name, uses

FOUND = [
    use
    for path in sorted(PACKAGE.rglob("*.py"))
    for use in uses(module_name(path), path.read_text(encoding="utf-8"))
]


def test_there_is_something_to_judge():
    assert len(FOUND) > 40
    assert {"file", "picture", "yaml", "process", "format"} <= {use.kind for use in FOUND}


@pytest.mark.parametrize("kind", ALLOWED)
def test_only_named_modules_reach_outside(kind):
    offences = [use for use in FOUND if use.kind == kind and not may(kind, use.module)]
    assert offences == []


@pytest.mark.parametrize("kind", ALLOWED)
def test_the_table_names_nobody_in_vain(kind):
    """A line that is no longer needed would let in what nobody looks at."""
    using = {use.module for use in FOUND if use.kind == kind}
    needless = [
        place
        for place in ALLOWED[kind]
        if not any(module == place or module.startswith(f"{place}/") for module in using)
    ]
    assert needless == []
    assert all(len(reason) > 10 for reason in ALLOWED[kind].values())


PLANTED = {
    "file": [
        "open('x')", "from pathlib import Path\nPath('x').read_bytes()",
        "import os\nos.open('x', 0)",
        "import io as i\ni.open('x')", "from os import fdopen as f\nf(3)", "reader = open",
        "def f(path):\n    return path.write_text('x')",
        "def f(path):\n    with path.open() as o: pass",
    ],
    "picture": [
        "from PIL import Image\nImage.open('x')", "import PIL.Image as p\np.open('x')",
        "import cv2 as c\nc.imread('x')", "from cv2 import VideoCapture\nVideoCapture('x')",
        "import numpy as np\nnp.load('x')",
    ],
    "yaml": ["import yaml\nyaml.safe_load('x')", "from yaml import load as l\nl('x')"],
    "process": [
        "import subprocess", "from multiprocessing import Pool", "import os\nos.system('x')",
        "from os import popen\npopen('x')", "def f(run):\n    run('x', shell=True)",
    ],
    "network": [
        "import socket", "from urllib.request import urlopen", "import http.client",
        "def f():\n    import requests", "import asyncio",
    ],
    "code": [
        "eval('1')", "run = exec", "import pickle", "from marshal import loads", "import ctypes",
        "import importlib\nimportlib.import_module('x')", "__import__('x')",
        "from reportlab.lib.rl_safe_eval import rl_safe_eval\nrl_safe_eval('1')",
    ],
    "database": ["import sqlite3"],
    "temporary": ["from tempfile import mkdtemp"],
    "format": ["def f(text, x):\n    return text.format(x)", "'{x}'.format_map({})"],
}  # fmt: skip


def test_every_kind_has_planted_offences():
    assert set(PLANTED) == set(ALLOWED)


@pytest.mark.parametrize(
    ("kind", "text"), [(kind, text) for kind, texts in PLANTED.items() for text in texts]
)
def test_a_planted_offence_is_found(kind, text):
    assert [use.kind for use in uses("story/planted", text) if not may(use.kind, use.module)]
    assert kind in {use.kind for use in uses("story/planted", text)}


@pytest.mark.parametrize(
    "text",
    ["# open('x') and eval", "'import socket'", "import urllib.parse", "def opened(): pass",
     "import os\nos.fspath('x')", "from PIL import Image\nImage.new('L', (1, 1))"],
)  # fmt: skip
def test_what_reaches_nowhere_is_no_offence(text):
    assert list(uses("story/planted", text)) == []
