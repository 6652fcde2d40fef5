"""Whose file an existing PDF is: only the very mark counts."""

import pikepdf
import pytest

from reporter.pdf import belongs_to


@pytest.fixture
def marked(tmp_path):
    def write(keywords: str):
        target = tmp_path / "file.pdf"
        with pikepdf.new() as document:
            document.add_blank_page(page_size=(100, 100))
            document.docinfo["/Keywords"] = keywords
            document.save(target)
        return target

    return write


def test_the_mark_is_the_whole_mark(marked):
    assert belongs_to(marked("lesson-reporter:S-1"), "lesson-reporter:S-1")
    # The id of one lesson may be the beginning of another's.
    assert not belongs_to(marked("lesson-reporter:S-12"), "lesson-reporter:S-1")
    assert not belongs_to(marked("record-lesson-reporter:S-1"), "lesson-reporter:S-1")


def test_anything_else_is_not_ours(tmp_path, marked):
    assert not belongs_to(marked(""), "lesson-reporter:S-1")
    other = tmp_path / "other.pdf"
    other.write_bytes(b"no PDF at all")
    assert not belongs_to(other, "lesson-reporter:S-1")
