"""`partsieve check`, end to end on real files."""

import csv
import io
import json
import os
import pty
import shutil
import signal
import subprocess
import time
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tests.api.command import COMMAND, environment, partsieve
from tests.worker.test_archive import zipped_names

EASY = "lid_plate.step"
FAILING = "sharp_window.step"
PASSING_POLICY = 'name = "lenient"\nfail_levels = []\n'


@pytest.fixture
def here(tmp_path: Path, parts: Path) -> Path:
    """Make a folder with an easy part, and a policy that nothing fails."""
    shutil.copy(parts / EASY, tmp_path / "lid.step")
    (tmp_path / "lenient.toml").write_text(PASSING_POLICY, "utf-8")
    return tmp_path


def report(folder: Path) -> Any:
    """Return the document in a report folder."""
    return json.loads((folder / "report.json").read_text("utf-8"))


def folders(reports: Path) -> list[str]:
    """Return the names of the report folders."""
    return sorted(each.name for each in reports.iterdir() if each.is_dir())


def test_a_file_gets_its_report(here: Path) -> None:
    """Document, page and thumbnail lie in a folder named after the file, nothing else; the table names the file."""
    done = partsieve("check", "lid.step", "--policy", "lenient.toml", cwd=here)
    assert done.returncode == 0, done.stderr
    found = sorted(each.name for each in (here / "reports" / "lid").iterdir())
    assert found == ["report.html", "report.json", "thumbnail.svg"]
    document = report(here / "reports" / "lid")
    assert (document["status"], document["source"]["file_name"]) == ("complete", "lid.step")
    assert document["settings"]["policy"] == "lenient"
    assert "lid.step" in done.stdout
    assert "1 model: 1 complete; none fails the gate" in done.stderr


def test_without_a_page(here: Path) -> None:
    """--no-html leaves the document only."""
    assert partsieve("check", "lid.step", "--no-html", "--policy", "lenient.toml", cwd=here).returncode == 0
    assert [each.name for each in (here / "reports" / "lid").iterdir()] == ["report.json"]


def test_what_fails_the_gate_is_exit_status_1(here: Path, parts: Path) -> None:
    """A part with an error fails under the built-in policy and passes a policy that nothing fails."""
    assert partsieve("check", parts / FAILING, cwd=here).returncode == 1
    assert partsieve("check", parts / FAILING, "--policy", "lenient.toml", cwd=here).returncode == 0


def test_accepted_findings_do_not_fail(here: Path, parts: Path) -> None:
    """All errors accepted: passes; all but one: fails."""
    partsieve("check", parts / FAILING, "--no-html", cwd=here)
    found = [
        finding["fingerprint"]
        for body in report(here / "reports" / Path(FAILING).stem)["bodies"]
        for finding in body["findings"]
        if finding["level"] == "error"
    ]
    assert found
    entries = [f'[[accepted]]\nfingerprint = "{each}"\nreason = "agreed"\n' for each in found]
    (here / "all.toml").write_text("\n".join(entries))
    (here / "some.toml").write_text("\n".join(entries[1:]))
    assert partsieve("check", parts / FAILING, "--no-html", "--baseline", "all.toml", cwd=here).returncode == 0
    assert partsieve("check", parts / FAILING, "--no-html", "--baseline", "some.toml", cwd=here).returncode == 1


def test_broken_files_do_not_disturb_the_good_one(here: Path) -> None:
    """Each broken file has a report and a line that says what was found and what was expected; exit status 3."""
    whole = (here / "lid.step").read_bytes()
    (here / "cut.step").write_bytes(whole[: len(whole) // 2])
    (here / "empty.step").write_bytes(b"")
    (here / "picture.stp").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    done = partsieve("check", ".", "--no-html", "--policy", "lenient.toml", cwd=here)
    assert done.returncode == 3
    statuses = {each.parent.name: report(each.parent)["status"] for each in here.glob("reports/*/report.json")}
    assert statuses == {"cut": "unreadable", "empty": "unreadable", "lid": "complete", "picture": "unreadable"}
    lines = done.stderr.splitlines()
    assert sum("empty.step: found an empty file (0 bytes); expected a STEP file" in each for each in lines) == 1
    assert sum("picture.stp: found a PNG picture; expected a STEP file" in each for each in lines) == 1
    assert any("cut.step: " in each and "expected" in each for each in lines)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        pytest.param(["missing.step"], "missing.step: found nothing there; expected", id="missing-file"),
        pytest.param(["hollow"], "hollow: found a folder without STEP files; expected", id="empty-folder"),
    ],
)
def test_a_path_with_nothing_in_it_is_exit_status_2_and_the_rest_is_done(
    here: Path, arguments: list[str], said: str
) -> None:
    """One line says so; the other file is checked."""
    (here / "hollow").mkdir()
    done = partsieve("check", *arguments, "lid.step", "--no-html", "--policy", "lenient.toml", cwd=here)
    assert done.returncode == 2
    assert [line for line in done.stderr.splitlines() if said in line] != []
    assert report(here / "reports" / "lid")["status"] == "complete"


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--shop", "missing.toml", "missing.toml"),
        ("--policy", "missing.toml", "missing.toml"),
        ("--baseline", "missing.toml", "missing.toml"),
        ("--material", "unobtainium", "unobtainium"),
    ],
)
def test_wrong_settings_are_exit_status_2_in_one_line(here: Path, option: str, value: str, said: str) -> None:
    """The file or name, what was found and what was expected; nothing is analysed by guessed settings."""
    done = partsieve("check", "lid.step", option, value, cwd=here)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1
    assert said in done.stderr
    assert not (here / "reports" / "lid").exists()


@pytest.mark.parametrize(
    "arguments", [[], ["lid.step", "--quantity", "0"], ["lid.step", "--format", "pdf"], ["lid.step", "--timeout", "0"]]
)
def test_wrong_usage_is_exit_status_2(here: Path, arguments: list[str]) -> None:
    """With the usage and the reason."""
    done = partsieve("check", *arguments, cwd=here)
    assert done.returncode == 2
    assert "Usage: partsieve check" in done.stderr


def test_an_output_folder_that_cannot_be_made(here: Path) -> None:
    """A file stands where the folder should be: exit status 2 and one line."""
    done = partsieve("check", "lid.step", "--out", "lid.step/reports", cwd=here)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "lid.step/reports" in done.stderr


def test_a_list_on_stdin(here: Path) -> None:
    """- takes one path from each line, with blanks in names and empty lines."""
    shutil.copy(here / "lid.step", here / "lid of box.step")
    listed = "lid.step\n\nlid of box.step\n"
    done = partsieve("check", "-", "--no-html", "--policy", "lenient.toml", cwd=here, stdin=listed)
    assert done.returncode == 0, done.stderr
    assert folders(here / "reports") == ["lid", "lid of box"]


def test_models_of_one_name_get_distinct_folders(here: Path) -> None:
    """And it is said which is which."""
    (here / "b").mkdir()
    shutil.copy(here / "lid.step", here / "b" / "Lid.stp")
    done = partsieve("check", "lid.step", "b", "--no-html", "--policy", "lenient.toml", cwd=here)
    assert folders(here / "reports") == ["Lid-2", "lid"]
    assert "b/Lid.stp: report in Lid-2, as another model is called Lid" in done.stderr


def test_zipped_models(here: Path) -> None:
    """Each member is one model; a member that leads out is refused by name, and written nowhere."""
    model = (here / "lid.step").read_bytes()
    zipped_names(here / "order.zip", {"a/first.step": model, "../../second.step": model, "note.txt": b"x"})
    (here / "lid.step").unlink()
    done = partsieve("check", ".", "--no-html", "--policy", "lenient.toml", cwd=here)
    assert done.returncode == 3
    assert report(here / "reports" / "first")["status"] == "complete"
    assert report(here / "reports" / "first")["source"]["file_name"] == "first.step"
    refused = report(here / "reports" / "second")
    assert refused["status"] == "unreadable"
    assert "'../../second.step' refused: its name leads out" in refused["problems"][0]["message"]
    assert not list(here.parent.rglob("second.step"))


def test_a_time_limit_is_one_more_line(here: Path) -> None:
    """A file that runs out of time has a report that says so; exit status 3."""
    done = partsieve("check", "lid.step", "--timeout", "0.001", cwd=here)
    assert done.returncode == 3
    document = report(here / "reports" / "lid")
    assert document["status"] in {"unreadable", "partial"}
    assert "time limit of 0.001 s" in document["problems"][0]["message"]
    assert (here / "reports" / "lid" / "report.html").exists()
    assert "lid.step: The analysis was stopped" in done.stderr


def test_a_memory_limit_is_one_more_line(here: Path) -> None:
    """So does one that runs out of memory."""
    done = partsieve("check", "lid.step", "--memory", "20", cwd=here)
    assert done.returncode == 3
    assert "memory limit of 20 MiB" in report(here / "reports" / "lid")["problems"][0]["message"]


@pytest.mark.parametrize("form", ["table", "json", "jsonl", "csv", "junit", "sarif", "markdown"])
def test_every_format_names_good_and_bad_files(here: Path, parts: Path, form: str) -> None:
    """Results, and only they, stand on stdout, in the order of the input, whatever became of the file."""
    (here / "broken.step").write_bytes(b"no model")
    shutil.copy(parts / FAILING, here / "sharp.step")
    done = partsieve("check", "sharp.step", "broken.step", "--no-html", "--format", form, cwd=here)
    assert done.returncode == 3
    out = done.stdout
    assert 0 <= out.index("sharp.step") < out.rindex("broken.step")
    assert "\x1b" not in out + done.stderr
    match form:
        case "json":
            assert [each["status"] for each in json.loads(out)] == ["complete", "unreadable"]
        case "jsonl":
            assert [json.loads(line)["status"] for line in out.splitlines()] == ["complete", "unreadable"]
        case "csv":
            assert len(list(csv.DictReader(io.StringIO(out)))) == 2
        case "junit":
            root = ElementTree.fromstring(out)  # noqa: S314  # our own text
            assert root.findall(".//failure") + root.findall(".//error") != []
        case "sarif":
            assert json.loads(out)["version"] == "2.1.0"


def test_quiet_says_only_what_went_wrong(here: Path) -> None:
    """Nothing on stderr for a good file; one line for a bad one."""
    (here / "broken.step").write_bytes(b"no model")
    good = partsieve("check", "lid.step", "--quiet", "--no-html", "--policy", "lenient.toml", cwd=here)
    assert good.stderr == ""
    bad = partsieve("check", "broken.step", "--quiet", "--no-html", cwd=here)
    assert len(bad.stderr.splitlines()) == 1


@pytest.mark.parametrize(("env", "coloured"), [({}, True), ({"NO_COLOR": "1"}, False)])
def test_a_terminal_gets_a_bar_unless_no_color_is_set(here: Path, env: dict[str, str], coloured: bool) -> None:
    """Control sequences appear on a terminal, and not even there where NO_COLOR is set."""
    leader, follower = pty.openpty()
    with subprocess.Popen(
        [*COMMAND, "check", "lid.step", "--no-html", "--policy", "lenient.toml"],
        cwd=here,
        stdin=subprocess.DEVNULL,
        stdout=follower,
        stderr=follower,
        env=environment(**env),
    ) as process:
        os.close(follower)
        shown = b""
        while True:
            try:
                piece = os.read(leader, 4096)
            except OSError:  # the terminal is gone with its last user
                break
            shown += piece
        process.wait(timeout=60)
    os.close(leader)
    assert process.returncode == 0
    assert (b"\x1b[" in shown) == coloured
    assert b"lid.step" in shown


@pytest.mark.parametrize("to_all", [True, False], ids=["terminal", "parent-only"])
def test_an_interrupt_leaves_finished_reports_whole(here: Path, parts: Path, to_all: bool) -> None:
    """After Ctrl-C every report that is there is whole, no process is left, and the exit status is the shell's 130."""
    for number in range(200):
        shutil.copy(parts / EASY, here / f"lid{number:03}.step")
    with subprocess.Popen(
        [*COMMAND, "check", ".", "--jobs", "2"],
        cwd=here,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment(),
        start_new_session=True,
    ) as process:
        end = time.monotonic() + 120
        while len(list(here.glob("reports/*/report.json"))) < 3:
            assert process.poll() is None
            assert time.monotonic() < end
            time.sleep(0.01)
        if to_all:
            os.killpg(process.pid, signal.SIGINT)  # as a terminal does
        else:
            process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "interrupted; " in errors.splitlines()[-1]
    assert "Traceback" not in errors
    written = list(here.glob("reports/*/*"))
    assert {each.name for each in written} <= {"report.json", "report.html", "thumbnail.svg"}
    for each in written:
        if each.name == "report.json":
            json.loads(each.read_text("utf-8"))
        else:
            assert each.read_text("utf-8").rstrip().endswith(("</html>", "</svg>"))
    assert len(written) < 3 * 200


def test_the_order_of_files_and_the_number_of_jobs_change_nothing(here: Path, parts: Path) -> None:
    """The same files give the same documents, apart from the times."""

    def run(name: str, *options: str) -> list[Any]:
        files = [parts / EASY, parts / FAILING, here / "lid.step"]
        done = partsieve("check", *files, "--no-html", "--format", "json", "--out", name, *options, cwd=here)
        documents: list[Any] = json.loads(done.stdout)
        for each in documents:
            del each["timings_s"]
        return documents

    assert run("one", "--jobs", "1") == run("two", "--jobs", "3")
