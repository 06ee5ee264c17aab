"""The command ``sheets``: what is written, what is said, and that a folder is written whole or not at all."""

import json
import os
from functools import partial
from pathlib import Path

import pytest

from build_sheet_jobs import JOB, text_of
from hosewright import cli
from hosewright.documents.folder import CONTENTS, write_folder
from hosewright.errors import DataError
from hosewright.jobfile import starter


@pytest.fixture
def call(command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setattr("hosewright.settings.user_file", lambda: tmp_path / "no settings.toml")
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    return partial(command, "sheets")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job that passes."""
    path = tmp_path / "job.toml"
    path.write_text(starter().replace("steps = 30", "steps = 10"), encoding="utf-8")
    return path


@pytest.fixture
def failing(tmp_path: Path) -> Path:
    path = tmp_path / "failing.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def names(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def only(folder: Path, ending: str) -> bytes:
    (path,) = folder.glob(f"*{ending}")
    return path.read_bytes()


def test_what_passes_has_status_0_and_all_papers(call, job: Path, tmp_path: Path) -> None:
    status, out, _ = call(job, "-o", tmp_path / "papers")
    assert status == 0
    written = names(tmp_path / "papers")
    assert {"result.json", CONTENTS} <= written
    assert {Path(name).suffix for name in written} >= {".pdf", ".dxf", ".json"}
    assert f"{len(written)} files" in out
    data = json.loads((tmp_path / "papers" / "result.json").read_text(encoding="utf-8"))
    (run,) = data["runs"]
    assert run["assembly"]["number"].startswith("H-")
    assert f"{run['assembly']['number']}.build.pdf" in written
    assert "DO NOT BUILD" not in text_of(only(tmp_path / "papers", ".build.pdf"))


def test_what_fails_has_status_1_and_papers_that_say_so(call, failing: Path, tmp_path: Path) -> None:
    status, out, _ = call(failing, "-o", tmp_path / "papers")
    assert status == cli.SOMETHING_FAILS
    assert "DO NOT BUILD" in out
    assert "DO NOT BUILD" in text_of((tmp_path / "papers" / "T-17.build.pdf").read_bytes())
    assert "not enough known: hose" in out  # the sample that cannot be made yet
    assert (tmp_path / "papers" / "S-3.build.pdf").exists()


def test_papers_of_one_run_alone(call, failing: Path, tmp_path: Path) -> None:
    call(failing, "-o", tmp_path / "papers", "--run", "too short")
    written = names(tmp_path / "papers")
    assert "T-17.build.pdf" not in written
    call(failing, "-o", tmp_path / "all")
    assert written < names(tmp_path / "all")  # its number is that among all runs


def test_the_same_input_gives_the_same_bytes(call, job: Path, tmp_path: Path) -> None:
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        call(job, "-o", folder)
    one, two = ({name: (folder / name).read_bytes() for name in names(folder)} for folder in folders)
    assert one == two


def test_settings_and_date(call, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text('shop = "Obstgarten"\nlanguage = "de"\nunits = "us"\npaper = "letter"', encoding="utf-8")
    call(job, "-o", tmp_path / "papers", "--settings", shop, "--date", "2026-08-14")
    text = text_of(only(tmp_path / "papers", ".build.pdf"))
    assert all(part in text for part in ("Obstgarten", "2026-08-14", "Fertigungsblatt", " psi"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    call(job, "-o", tmp_path / "papers")
    assert "1970-01-02" in text_of(only(tmp_path / "papers", ".build.pdf"))


def test_words_on_the_spot_count_before_the_settings(call, job: Path, tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text('language = "de"\nunits = "us"\npaper = "letter"', encoding="utf-8")
    words = ("--language", "EN", "--units", "metric", "--paper", "A4")
    call(job, "-o", tmp_path / "one", "--settings", shop, *words)
    call(job, "-o", tmp_path / "two")
    assert {name: (tmp_path / "one" / name).read_bytes() for name in names(tmp_path / "one")} == {
        name: (tmp_path / "two" / name).read_bytes() for name in names(tmp_path / "two")
    }


@pytest.mark.parametrize(
    ("more", "part"),
    [
        (("--run", "nowhere"), "step, lift"),
        (("--date", "14.8.2026"), "'14.8.2026': write year, month and day, such as 2026-03-01"),
        (("--language", "fr"), "'fr' is no language of the papers: give one of en, de"),
        (("--paper", "latter"), "Did you mean 'letter'?"),
        (("--units", "inch"), "metric, us"),
        (("--settings", "missing.toml"), "missing.toml"),
        (("--language", "fr", "--paper", "legal"), "en, de.\n'legal' is no paper: give one of a4, letter"),
    ],
)
def test_bad_input_has_status_2_and_writes_nothing(
    call, job: Path, tmp_path: Path, more: tuple[str, ...], part: str
) -> None:
    status, out, err = call(job, "-o", tmp_path / "papers", *more)
    assert status == cli.BAD_INPUT
    assert part in err
    assert "Traceback" not in err + out
    assert not (tmp_path / "papers").exists()


def test_a_bad_date_in_the_surroundings(call, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    status, _, err = call(job, "-o", tmp_path / "papers")
    assert status == cli.BAD_INPUT
    assert "yesterday" in err


def test_a_file_in_place_of_the_folder(call, job: Path, tmp_path: Path) -> None:
    (tmp_path / "papers").write_text("mine", encoding="utf-8")
    status, _, err = call(job, "-o", tmp_path / "papers")
    assert status == cli.BAD_INPUT
    assert "papers" in err
    assert (tmp_path / "papers").read_text(encoding="utf-8") == "mine"


# ---- the folder ----


def test_writing_again_removes_what_is_out_of_date_and_nothing_else(tmp_path: Path) -> None:
    folder = tmp_path / "papers"
    write_folder(folder, [("a.pdf", b"1"), ("poses/b.glb", b"2")])
    (folder / "mine.txt").write_text("mine", encoding="utf-8")
    write_folder(folder, [("a.pdf", b"3"), ("c.pdf", b"4")])
    assert names(folder) == {"a.pdf", "c.pdf", "mine.txt", CONTENTS}
    assert (folder / "a.pdf").read_bytes() == b"3"


def test_contents_that_were_tampered_with_remove_nothing_outside(tmp_path: Path) -> None:
    folder, outside = tmp_path / "papers", tmp_path / "outside.txt"
    outside.write_text("mine", encoding="utf-8")
    folder.mkdir()
    for listed in ('{"files": ["../outside.txt", ".", 3, "\\u0000"]}', "[]", "no json", '{"files": 3}'):
        (folder / CONTENTS).write_text(listed, encoding="utf-8")
        write_folder(folder, [("a.pdf", b"1")])
        assert outside.exists()


def test_a_maker_that_fails_leaves_nothing(tmp_path: Path) -> None:
    def files():
        yield "a.pdf", b"1"
        raise DataError("no")

    with pytest.raises(DataError):
        write_folder(tmp_path / "papers", files())
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_take_a_file_stays_as_it_was(tmp_path: Path) -> None:
    folder = tmp_path / "papers"
    write_folder(folder, [("a.pdf", b"1")])
    (folder / "b.pdf").mkdir()
    before = names(folder)
    with pytest.raises(DataError, match=r"b\.pdf"):
        write_folder(folder, [("a.pdf", b"2"), ("b.pdf", b"3")])
    assert names(folder) == before
    assert (folder / "a.pdf").read_bytes() == b"1"


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write = Path.write_bytes

    def full(path: Path, content: bytes) -> int:
        if path.name == "b.pdf":
            raise OSError(28, "No space left on device")
        return write(path, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    for folder in (tmp_path / "new", tmp_path):
        with pytest.raises(DataError, match="No space left"):
            write_folder(folder, [("a.pdf", b"1"), ("b.pdf", b"2")])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="needs a folder that this user cannot write")
def test_no_right_to_write(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(DataError, match="cannot be written"):
        write_folder(tmp_path / "papers", [("a.pdf", b"1")])
    tmp_path.chmod(0o700)
    assert list(tmp_path.iterdir()) == []


def test_a_job_of_samples_alone_is_not_asked_for_runs(call, tmp_path: Path) -> None:
    counter = tmp_path / "counter.toml"
    text = (Path(__file__).parents[2] / "examples" / "counter.toml").read_text(encoding="utf-8")
    counter.write_text(text.replace("length = ", "lenght = "), encoding="utf-8")
    status, _, err = call(counter, "-o", tmp_path / "papers")
    assert status == cli.BAD_INPUT
    assert "Did you mean 'length'?" in err
    assert "[[run]]" not in err


def test_a_job_that_is_not_there_is_told_with_its_nearest_name(call, job: Path, tmp_path: Path) -> None:
    status, _, err = call(job.with_name(f"{job.stem}s.toml"), "-o", tmp_path / "papers")
    assert status == cli.BAD_INPUT
    assert f"Did you mean '{job.name}'" in err
    assert ":1:1" not in err
