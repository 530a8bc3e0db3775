"""Papers by hand: filed, opened on request, refused with a sentence, and what is still lacking."""

import hashlib
import os
from pathlib import Path

import pytest

from tests.gui.registers.registers_hands import page, registers
from tests.gui.stand import Key, Stand, begin_shift
from tests.shed import START
from washmon.gui.registers import page as module
from washmon.gui.registers.page import RegistersPage
from washmon.line.papers_asked import ASKED, answers
from washmon.line.registers import Device, Paper, PaperKind, Registers
from washmon.line.site_events import ThingRegistered
from washmon.store import papers
from washmon.store.store import Store

BODY = b"%PDF-1.4 an invented laboratory result\n"
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture
def stand(stand: Stand) -> Stand:
    begin_shift(stand.path)
    stand.open()
    return stand


@pytest.fixture
def result(tmp_path: Path) -> Path:
    path = tmp_path / "well 2.pdf"
    path.write_bytes(BODY)
    return path


def write(found: RegistersPage, file: Path, **texts: str) -> None:
    found.list.add_asked.emit("paper")
    texts = {"file": str(file), "kind": "laboratory result", "name": "E. coli, well 2"} | texts
    for key, text in texts.items():
        found.thing.fields[key].put(text)


def test_a_paper_is_filed_with_its_hash_and_its_content_beside_the_database(
    stand: Stand, result: Path
) -> None:
    found = page(stand)
    write(found, result, review_on="2027-05-07")
    with stand.qtbot.waitSignal(found.loaded):
        stand.key(Key.Key_Return)
    (paper,) = registers(stand).of(Paper)
    assert (paper.kind, paper.file, paper.size) == (
        PaperKind.LABORATORY,
        "well 2.pdf",
        len(BODY),
    )
    assert paper.sha256 == hashlib.sha256(BODY).hexdigest()
    assert (stand.path.with_name("shed-papers") / paper.sha256).read_bytes() == BODY
    assert [cell.text for cell in found.list.list.model.row(0)[:2]] == [
        "in order",
        "E. coli, well 2",
    ]


def test_it_is_opened_only_on_request_and_only_as_it_was_filed(
    stand: Stand, result: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []

    def open_outside(path: Path) -> bool:
        opened.append(path)
        return True

    monkeypatch.setattr(module, "open_outside", open_outside)
    found = page(stand)
    write(found, result)
    with stand.qtbot.waitSignal(found.loaded):
        stand.key(Key.Key_Return)
    assert opened == []
    with stand.qtbot.waitSignal(found.filing.laid_out):
        stand.click(found.list.open)
    (path,) = opened
    assert (path.name, path.read_bytes()) == ("well 2.pdf", BODY)
    (paper,) = registers(stand).of(Paper)
    content = stand.path.with_name("shed-papers") / paper.sha256
    content.write_bytes(b"another")
    with stand.qtbot.waitSignal(found.filing.laid_out):
        stand.click(found.list.open)
    assert len(opened) == 1
    assert "was changed" in found.list.message.words.text()


@pytest.mark.parametrize("what", ["gone", "folder", "script", "large", "pipe"])
def test_what_is_no_paper_is_said_beside_the_file_and_nothing_typed_is_lost(
    stand: Stand, result: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    file = result.with_name(f"{what}.pdf")
    match what:
        case "folder":
            file.mkdir()
        case "script":
            file = result.with_name("label.pdf.sh")
            file.write_bytes(BODY)
        case "large":
            file.write_bytes(BODY)
            monkeypatch.setattr(papers, "LARGEST_PAPER", 3)
        case "pipe":
            if os.name == "nt":
                pytest.skip("Windows has no such pipes")
            os.mkfifo(file)
    found = page(stand)
    write(found, file)
    with stand.qtbot.waitSignal(found.filing.taken):
        stand.key(Key.Key_Return)
    fault = found.thing.fields["file"].fault.text
    assert fault.endswith(".")
    assert found.thing.fields["name"].text == "E. coli, well 2"
    assert registers(stand).things == ()
    folder = stand.path.with_name("shed-papers")
    assert not folder.exists() or not list(folder.iterdir())


def test_the_content_of_a_paper_that_the_journal_refuses_is_let_go(
    stand: Stand, result: Path
) -> None:
    taken = Paper(
        key="x", name="E. coli, well 2", kind=PaperKind.LABORATORY, sha256="a" * 64, size=3
    )
    stand.window.client.recorder.enter(ThingRegistered(at=START, by="RM", what=taken)).result(10)
    found = page(stand)
    write(found, result)
    stand.key(Key.Key_Return)
    stand.qtbot.waitUntil(lambda: found.thing.fields["name"].fault.text != "")
    assert "There is one of this name already" in found.thing.fields["name"].fault.text
    assert list(stand.path.with_name("shed-papers").iterdir()) == []


def where_they_are(found: RegistersPage) -> set[str]:
    model = found.lacking.list.model
    return {model.row(at)[2].text for at in range(model.rowCount())}


def test_a_paper_whose_content_is_gone_is_told_in_the_list(stand: Stand, result: Path) -> None:
    found = page(stand)
    write(found, result)
    with stand.qtbot.waitSignal(found.loaded):
        stand.key(Key.Key_Return)
    (paper,) = registers(stand).of(Paper)
    stand.click(found.list.lacking)
    assert "E. coli, well 2" in where_they_are(found)
    stand.key(Key.Key_Escape)
    content = stand.path.with_name("shed-papers") / paper.sha256
    content.write_bytes(BODY + b"and more")
    page(stand)
    assert "missing or was changed" in found.list.list.model.row(0)[4].text
    content.unlink()
    page(stand)
    assert "Its file is missing" in found.list.list.model.row(0)[4].text
    stand.click(found.list.lacking)
    assert "E. coli, well 2" not in where_they_are(found)


def test_the_list_of_what_is_lacking_says_where_the_rest_is(stand: Stand, result: Path) -> None:
    found = page(stand)
    stand.click(found.list.lacking)
    model = found.lacking.list.model
    first = [cell.text for cell in model.row(0)]
    assert first[0] == "lacking"
    assert "File it under Papers, as: inspection" in first[2]
    before = sum(model.row(at)[0].text == "lacking" for at in range(model.rowCount()))
    stand.key(Key.Key_Escape)
    write(found, result)
    with stand.qtbot.waitSignal(found.loaded):
        stand.key(Key.Key_Return)
    stand.click(found.list.lacking)
    after = sum(model.row(at)[0].text == "lacking" for at in range(model.rowCount()))
    assert after == before - 1


def test_what_is_asked_for_is_answered_by_papers_or_by_the_program_itself() -> None:
    none = answers(Registers(), START.date())
    assert {one.asked.clause for one in none} == {one.clause for one in ASKED}
    kept = {one.asked.clause for one in none if not one.lacks}
    assert kept == {
        "112.50(b)(7), 117.190(a)(3)",
        "112.50(b)(11), 117.190(a)(2)",
        "117.190(a)(4)(ii), (iii), (vii)",
    }
    with_device = answers(
        Registers(things=(Device(key="A", name="A", measures=("ph",)),)), START.date()
    )
    assert "117.190(a)(4)(iv)" in {one.asked.clause for one in with_device if not one.lacks}


def test_where_there_is_no_place_for_papers_it_is_said(
    stand: Stand, result: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = page(stand)
    monkeypatch.setattr(Store, "papers_folder", None)
    write(found, result)
    with stand.qtbot.waitSignal(found.filing.taken):
        stand.key(Key.Key_Return)
    assert found.thing.fields["file"].fault.text.startswith("There is no place for papers now")
