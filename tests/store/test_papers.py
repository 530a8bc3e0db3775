"""The content of papers: taken in whole or not at all, backed up once, missed where it is gone."""

import hashlib
import json
import os
import shutil
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace
from typer.testing import CliRunner

from tests.shed import START
from washmon.cli.commands import app
from washmon.line import check_registers
from washmon.line.journal import SITE
from washmon.line.registers import Paper, PaperKind, plain_name
from washmon.line.site_events import ThingRegistered
from washmon.store import papers
from washmon.store.backups import back_up, papers_of_backup
from washmon.store.errors import CannotWrite
from washmon.store.place import locate
from washmon.store.salvage import salvage
from washmon.store.store import Store

BODY = b"%PDF-1.4 an invented label\n"
HASH = hashlib.sha256(BODY).hexdigest()
POSIX = pytest.mark.skipif(os.name == "nt", reason="Windows has neither pipes nor modes like these")


def a_paper(sha256: str = HASH, size: int = len(BODY), name: str = "Label of Drum") -> Paper:
    return Paper(
        key=name, name=name, kind=PaperKind.LABEL, sha256=sha256, size=size, file="label.pdf"
    )


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "stick" / "label.pdf"
    path.parent.mkdir()
    path.write_bytes(BODY)
    return path


@pytest.fixture
def database(tmp_path: Path, source: Path) -> Path:
    """A database with a paper whose content is beside it."""
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        folder = store.papers_folder
        assert folder is not None
        taken = papers.take_in(source, folder)
        store.append(SITE, [ThingRegistered(at=START, by="RM", what=a_paper(taken.sha256))], START)
    return path


def test_a_content_lies_under_its_hash_for_its_owner_alone(tmp_path: Path, source: Path) -> None:
    folder = tmp_path / "shed-papers"
    taken = papers.take_in(source, folder)
    assert (taken.sha256, taken.size, taken.name, taken.is_new) == (
        HASH,
        len(BODY),
        "label.pdf",
        True,
    )
    assert [one.name for one in folder.iterdir()] == [HASH]
    assert papers.fault_of(folder, HASH) is None
    again = papers.take_in(source, folder)
    assert not again.is_new
    papers.let_go(folder, again)
    assert papers.fault_of(folder, HASH) is None
    if os.name != "nt":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert stat.S_IMODE((folder / HASH).stat().st_mode) == 0o600


def refused(source: Path, folder: Path) -> str:
    """Return the sentence with which a file is refused; nothing of it may be left."""
    before = sorted(folder.iterdir()) if folder.exists() else []
    with pytest.raises(CannotWrite) as told:
        papers.take_in(source, folder)
    assert (sorted(folder.iterdir()) if folder.exists() else []) == before
    return str(told.value)


def test_what_is_no_paper_is_told_in_one_sentence_and_leaves_nothing(
    tmp_path: Path, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "papers"
    assert refused(tmp_path / "gone.pdf", folder) == (
        "gone.pdf is not there any more: choose it again."
    )
    empty = tmp_path / "empty.pdf"
    empty.touch()
    assert "is empty" in refused(empty, folder)
    inside = tmp_path / "folder.pdf"
    inside.mkdir()
    assert "is no file" in refused(inside, folder) or "can't be read" in refused(inside, folder)
    script = tmp_path / "label.pdf.sh"
    script.write_bytes(BODY)
    assert "is no document" in refused(script, folder)
    monkeypatch.setattr(papers, "LARGEST_PAPER", len(BODY) - 1)
    assert "20 MB" in refused(source, folder)


ENDINGS = ("csv", "doc", "docx", "md", "odt", "ods", "pdf", "txt", "xls", "xlsx")
PICTURES = ("jpeg", "jpg", "png", "tif", "tiff", "JPG")


@pytest.mark.parametrize("ending", [*ENDINGS, *PICTURES])
def test_documents_and_pictures_of_usual_kinds_are_taken_in_and_opened(
    tmp_path: Path, ending: str
) -> None:
    scan = tmp_path / f"scan.{ending}"
    scan.write_bytes(BODY)
    assert papers.take_in(scan, tmp_path / "papers").sha256 == HASH
    named = replace(a_paper(), file=scan.name)
    assert papers.lay_out(tmp_path / "papers", named, tmp_path / "shown").name == scan.name


@pytest.mark.parametrize("ending", ["exe", "sh", "html", "lnk", "js", "pdf.exe", ""])
def test_what_would_run_is_neither_taken_in_nor_opened(tmp_path: Path, ending: str) -> None:
    script = tmp_path / f"label.{ending}"
    script.write_bytes(BODY)
    assert "is no document" in refused(script, tmp_path / "papers")
    papers.take_in(_pdf(tmp_path), tmp_path / "papers")
    with pytest.raises(CannotWrite, match="is no document"):
        papers.lay_out(
            tmp_path / "papers", replace(a_paper(), file=script.name), tmp_path / "shown"
        )


def _pdf(folder: Path) -> Path:
    path = folder / "label.pdf"
    path.write_bytes(BODY)
    return path


def test_the_largest_paper_just_fits_and_so_do_all_together(
    tmp_path: Path, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(papers, "LARGEST_PAPER", len(BODY))
    monkeypatch.setattr(papers, "_BLOCK", 5)
    monkeypatch.setattr(papers, "ALL_PAPERS", len(BODY) + 4)
    folder = tmp_path / "papers"
    assert papers.take_in(source, folder).size == len(BODY)
    assert papers.fault_of(folder, HASH) is None
    (folder / "of somebody else.pdf").write_bytes(BODY)  # is not counted
    other = source.with_name("other.pdf")
    other.write_bytes(b"more")
    assert papers.take_in(other, folder).is_new
    other.write_bytes(b"!")
    assert "1 GB" in refused(other, folder)
    (folder / HASH).write_bytes(BODY + b"with more behind it")
    assert papers.fault_of(folder, HASH) == "changed"


def test_what_the_journal_did_not_take_goes_again_where_it_was_new(
    tmp_path: Path, source: Path
) -> None:
    taken = papers.take_in(source, tmp_path / "papers")
    papers.let_go(tmp_path / "papers", taken)
    papers.let_go(tmp_path / "papers", taken)  # it is gone already
    assert list((tmp_path / "papers").iterdir()) == []


def test_what_is_amiss_is_told_of_every_paper_that_shares_a_content(
    tmp_path: Path, source: Path
) -> None:
    papers.take_in(source, tmp_path)
    known = [a_paper(), a_paper("0" * 64, name="One"), a_paper("0" * 64, name="Two")]
    told = [(paper.name, what) for paper, what in papers.amiss(known, tmp_path)]
    assert told == [("One", "missing"), ("Two", "missing")]
    assert [what for _, what in papers.amiss(known, None)] == ["missing"] * 3
    (tmp_path / ("0" * 64)).mkdir()
    assert [what for _, what in papers.amiss(known[1:2], tmp_path)] in (["changed"], ["missing"])


def test_only_whole_contents_are_copied_and_what_is_not_is_told(
    tmp_path: Path, source: Path
) -> None:
    papers.take_in(source, tmp_path / "papers")
    known = [a_paper("0" * 64, name="Lost"), a_paper()]
    (lost,) = papers.copy_missing(known, tmp_path / "papers", tmp_path / "drive")
    assert lost == "The file of the paper Lost (SHA-256 000000000000…) is missing."
    assert (tmp_path / "drive" / HASH).read_bytes() == BODY
    (tmp_path / "papers" / HASH).write_bytes(b"another")
    (changed,) = papers.copy_missing(known[1:], tmp_path / "papers", tmp_path / "other")
    assert "was changed" in changed
    assert not (tmp_path / "other").exists()
    assert len(papers.copy_missing(known, None, tmp_path / "other")) == 2


@POSIX
def test_a_paper_that_is_laid_out_is_for_its_reader_alone(tmp_path: Path, source: Path) -> None:
    papers.take_in(source, tmp_path / "papers")
    laid = papers.lay_out(tmp_path / "papers", a_paper(), tmp_path / "shown")
    assert stat.S_IMODE(laid.stat().st_mode) == 0o400
    assert stat.S_IMODE(laid.parent.stat().st_mode) == 0o700
    assert laid.parent.name == HASH[:12]


@POSIX
def test_a_pipe_is_not_waited_for_and_a_link_not_followed(tmp_path: Path, source: Path) -> None:
    pipe = tmp_path / "pipe.pdf"
    os.mkfifo(pipe)
    assert "is no file" in refused(pipe, tmp_path / "papers")
    link = tmp_path / "link.pdf"
    link.symlink_to(source)
    assert "only a link" in refused(link, tmp_path / "papers")


def test_a_file_that_may_not_be_read_is_told(
    tmp_path: Path, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "papers").mkdir()
    with monkeypatch.context() as patched:
        patched.setattr(os, "open", refuse)
        with pytest.raises(CannotWrite, match="can't be read"):
            papers.take_in(source, tmp_path / "papers")


def test_all_papers_together_have_a_limit(
    tmp_path: Path, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "papers"
    papers.take_in(source, folder)
    monkeypatch.setattr(papers, "ALL_PAPERS", len(BODY) + 3)
    other = source.with_name("other.pdf")
    other.write_bytes(b"more")
    assert "1 GB" in refused(other, folder)
    assert check_registers.LARGEST_PAPER == 20_000_000
    assert check_registers.ALL_PAPERS == 1_000_000_000


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("label.pdf", "label.pdf"),
        ("../../etc/label.pdf", "label.pdf"),
        ("C:\\papers\\label.pdf", "label.pdf"),
        ("la\nbel\x00.pdf", "label.pdf"),
        ("label\u202efdp.exe", "labelfdp.exe"),
        (f"{'n' * 400}.pdf", f"{'n' * 116}.pdf"),
        ("", "paper"),
        (" .. ", "paper"),
    ],
)
def test_a_hostile_name_is_made_plain(name: str, plain: str) -> None:
    assert plain_name(name) == plain


def test_verify_names_what_is_missing_or_was_changed(database: Path) -> None:
    runner = CliRunner()
    good = runner.invoke(app, ["verify", "--database", str(database), "--json"])
    assert (good.exit_code, json.loads(good.stdout)["papers"]) == (0, [])
    content = database.with_name("shed-papers") / HASH
    content.chmod(0o600)
    content.write_bytes(b"another label")
    changed = runner.invoke(app, ["verify", "--database", str(database)])
    assert changed.exit_code == 1
    assert f"paper Label of Drum (SHA-256 {HASH[:12]}…) was changed." in changed.stdout
    content.unlink()
    gone = runner.invoke(app, ["verify", "--database", str(database)])
    assert f"paper Label of Drum (SHA-256 {HASH[:12]}…) is missing." in gone.stdout


def test_a_backup_copies_each_content_once_and_says_what_it_lacks(
    database: Path, tmp_path: Path
) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    now = datetime(2026, 5, 8, 12, 0, tzinfo=UTC)
    with Store.open(database) as store:
        first = back_up(store, drive, now)
        copied = papers_of_backup(first.path) / HASH
        before = copied.stat().st_mtime_ns
        assert copied.read_bytes() == BODY
        second = back_up(store, drive, now + timedelta(minutes=1))
        assert copied.stat().st_mtime_ns == before
        (database.with_name("shed-papers") / HASH).unlink()
        third = back_up(store, drive, now + timedelta(minutes=2))
        assert (first.lacks, second.lacks, third.lacks) == ((), (), ())  # the drive has it
        copied.unlink()
        fourth = back_up(store, drive, now + timedelta(minutes=3))
    (said,) = fourth.lacks
    assert "Label of Drum" in said
    assert "is missing" in said


def test_restore_brings_the_content_back(database: Path, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    with Store.open(database) as store:
        backup = back_up(store, drive, datetime.now(UTC))
    shutil.rmtree(database.with_name("shed-papers"))
    told = CliRunner().invoke(app, ["restore", str(backup.path), "--database", str(database)])
    assert told.exit_code == 0
    with Store.open(database, read_only=True) as store:
        assert store.papers_amiss() == []


def test_salvage_saves_the_content_too_and_names_what_is_lost(
    database: Path, tmp_path: Path
) -> None:
    saved = tmp_path / "saved.db"
    assert salvage(database, saved).lost == ()
    with Store.open(saved, read_only=True) as store:
        assert store.papers_amiss() == []
    (database.with_name("shed-papers") / HASH).unlink()
    (lost,) = salvage(database, tmp_path / "again.db").lost
    assert "The file of the paper Label of Drum" in lost


def test_what_is_opened_is_a_copy_that_may_not_be_written(database: Path, tmp_path: Path) -> None:
    folder = database.with_name("shed-papers")
    laid = papers.lay_out(folder, a_paper(), tmp_path / "shown")
    assert (laid.name, laid.read_bytes()) == ("label.pdf", BODY)
    assert papers.lay_out(folder, a_paper(), tmp_path / "shown") == laid
    (folder / HASH).write_bytes(b"another")
    with pytest.raises(CannotWrite, match="was changed"):
        papers.lay_out(folder, a_paper(), tmp_path / "shown")


def test_a_name_in_a_forged_journal_reaches_no_other_file(database: Path, tmp_path: Path) -> None:
    forged = a_paper(sha256="../shed.db")
    folder = database.with_name("shed-papers")
    assert [what for _, what in papers.amiss([forged], folder)] == ["missing"]
    assert papers.copy_missing([forged], folder, tmp_path / "drive") == []
    assert not (tmp_path / "drive").exists()


def test_papers_lie_beside_a_file_and_those_of_a_server_in_the_state_folder(tmp_path: Path) -> None:
    state = tmp_path / "state"
    assert papers.papers_folder(tmp_path / "shed.db", state) == tmp_path / "shed-papers"
    server = locate("postgresql://somewhere/shed")
    assert papers.papers_folder(server, state) == state / "papers"
    assert papers.papers_folder(server, None) is None


def test_a_content_seems_whole_where_a_file_of_its_size_lies(tmp_path: Path) -> None:
    (tmp_path / HASH).write_bytes(BODY)
    assert papers.seems_whole(tmp_path, a_paper())
    assert not papers.seems_whole(tmp_path, a_paper(size=len(BODY) + 1))
    assert not papers.seems_whole(tmp_path, a_paper("0" * 64))
    assert not papers.seems_whole(None, a_paper())
    (tmp_path / ("1" * 64)).mkdir()
    assert not papers.seems_whole(tmp_path, a_paper("1" * 64, size=4096))
