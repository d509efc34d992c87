"""Many files: the same reviews in the same order, whoever makes them, and nobody left behind."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

import formcheck
from formcheck.review import many
from formcheck.review.as_data import as_data, from_data
from formcheck.review.here import reviewed_here
from formcheck.review.many import CHUNK, Answer, Done, in_order
from formcheck.review.model import Review
from formcheck.review.run import Reviewed, Reviewer, Task

DAY = date(2026, 11, 25)
HOME = Path(__file__).parents[2]
BALM = """\
formcheck: 1
name: Hand balm
product: {use: leave-on, form: balm, area: hands, markets: [EU]}
phases:
  A: {Helianthus Annuus Seed Oil: SHARE, Cera Alba: 20, Tocopherol: 0.5}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Seventy formulas, every seventh on hold, one that cannot be read; some in a folder of their own with settings."""
    for number in range(70):
        share = "70" if number % 7 == 0 else "q.s."
        below = tmp_path / ("strict" if number % 10 == 3 else "usual")
        below.mkdir(exist_ok=True)
        (below / f"balm-{number:02d}.formula.yaml").write_text(BALM.replace("SHARE", share) + f"# {number}\n")
    (tmp_path / "strict" / "formcheck.toml").write_text("threshold = 'note'\n")
    (tmp_path / "usual" / "balm-11.formula.yaml").write_text("formcheck: 1\nname: [\n")
    return tmp_path


@pytest.fixture(scope="module")
def threads() -> Iterator[Executor]:
    with ThreadPoolExecutor(3) as executor:
        yield executor


@pytest.fixture(scope="module")
def processes() -> Iterator[Executor]:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor:
        yield executor


@pytest.fixture(scope="module")
def dask() -> Iterator[Executor]:
    """A Dask cluster of two processes on this machine's own network."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client.get_executor()


@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("kind", ["threads", "processes", "dask"])
def test_any_executor_gives_the_same_in_the_same_order(kind: str, folder: Path, request: pytest.FixtureRequest) -> None:
    executor: Executor = request.getfixturevalue(kind)
    alone = list(formcheck.review_many([folder], today=DAY))
    assert [review.file for review in alone] == sorted(str(path) for path in folder.rglob("*.formula.yaml"))
    assert {review.verdict for review in alone} == {"ready", "hold", "not reviewed"}
    assert {review.threshold for review in alone} == {"major", "note"}
    assert list(formcheck.review_many([folder], executor=executor, today=DAY)) == alone
    assert list(formcheck.review_many([folder], executor=executor, today=DAY, ahead=1)) == alone
    # a worker that lives on must not remember settings of an earlier run
    (folder / "strict" / "formcheck.toml").unlink()
    again = formcheck.review_many([folder], executor=executor, today=DAY)
    assert {review.threshold for review in again} == {"major"}


def test_lines_are_reviews(folder: Path) -> None:
    paths = [folder / "usual" / "balm-00.formula.yaml", folder / "none.formula.yaml"]
    lines = list(formcheck.review_lines(paths, today=DAY))
    assert all(line.isascii() and "\n" not in line for line in lines)
    assert [from_data(json.loads(line)) for line in lines] == list(formcheck.review_many(paths, today=DAY))
    assert [json.loads(line)["verdict"] for line in lines] == ["hold", "not reviewed"]


SETTINGS = """\
[rules.balance-too-coarse]
silent = true
reason = "our balance is fine"
[rules.total-not-100]
severity = "critical"
reason = "we fill to the gram"
"""
ACCEPTED = """\
batch: {size: 10 g, balance: 1 g}
deviations:
  - {rule: antioxidant-missing, of: Helianthus Annuus Seed Oil, reason: "\u202e", until: 2027-01-31, accepted by: N. Row}
"""


def test_a_review_is_read_back_whole(reviewer: Reviewer, tmp_path: Path) -> None:
    """Over all examples, over the corpus, and over one with all that a house may settle."""
    paths = [*(HOME / "examples").rglob("*.formula.*"), *(HOME / "tests" / "corpus").rglob("*.formula.yaml")]
    (tmp_path / "formcheck.toml").write_text(SETTINGS)
    paths.append(tmp_path / "balm.formula.yaml")
    paths[-1].write_text(BALM.replace("SHARE", "70").replace(", Tocopherol: 0.5", "") + ACCEPTED)
    reviews = [reviewer.review(str(path)) for path in paths]
    assert len(reviews) > 100
    for review in reviews:
        assert from_data(json.loads(json.dumps(as_data(review)))) == review
    for part in ("findings", "accepted", "unchecked", "tables", "silenced", "regraded"):
        assert any(getattr(review, part) for review in reviews), part


# --- in order


class Slow:
    """Hands that are done when told so."""

    def __init__(self) -> None:
        self.futures: list[Future[list[Answer]]] = []
        self.tasks: list[list[Task]] = []

    def submit(self, tasks: Any) -> Future[list[Answer]]:
        self.futures.append(Future())
        self.tasks.append(list(tasks))
        return self.futures[-1]

    def finish(self, number: int) -> None:
        self.futures[number].set_result([Answer(task.path, DAY) for task in self.tasks[number]])


def _items(count: int) -> Iterator[Task | Reviewed]:
    for number in range(count):
        yield Reviewed(Review(str(number), "", "ready")) if number % 5 == 0 else Task(str(number))


def _file(result: Done | Reviewed) -> str:
    if isinstance(result, Reviewed):
        return result.review.file
    assert result.answer.line == result.task.path
    return result.task.path


def test_what_is_done_early_waits_for_its_turn() -> None:
    hands = Slow()

    class Backwards:
        """Finishes everything under way, the last first, when somebody waits for a result."""

        def __init__(self, future: Future[list[Answer]]) -> None:
            self.future = future

        def result(self) -> list[Answer]:
            for number in reversed(range(len(hands.futures))):
                if not hands.futures[number].done():
                    hands.finish(number)
            return self.future.result()

        def done(self) -> bool:
            return self.future.done()

        def cancel(self) -> bool:
            return self.future.cancel()

    results = [_file(each) for each in in_order(_items(500), lambda tasks: Backwards(hands.submit(tasks)), ahead=3)]
    assert results == [str(number) for number in range(500)]
    assert max(len(tasks) for tasks in hands.tasks) == CHUNK


def test_only_so_much_is_under_way() -> None:
    hands = Slow()
    taken = 0

    def items() -> Iterator[Task]:
        nonlocal taken
        for number in range(100_000):
            taken += 1
            yield Task(str(number))

    def submit(tasks: Any) -> Future[list[Answer]]:
        future = hands.submit(tasks)
        if len(hands.futures) > 4:
            hands.finish(len(hands.futures) - 5)
        return future

    results = in_order(items(), submit, ahead=4)
    for _ in range(50 * CHUNK):
        next(results)
    assert taken < 60 * CHUNK
    results.close()  # type: ignore[attr-defined]
    assert all(future.done() for future in hands.futures)
    assert any(future.cancelled() for future in hands.futures)


# --- the command


def command(*arguments: str, folder: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "formcheck", "review", *arguments],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        # what is started in the background of a shell does not hear of interrupts, and what it starts does not either
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )


PACK = """\
import os, time
from formcheck.plugins import implements
from formcheck.review.rule import declare

rule = declare(finds="anything", harm="untidy", why="w", remedy="r", flawed="", mended="")
rule.id, rule.family = "anything", "packs"

def check(sheet):
    time.sleep(PAUSE)
    if "# DIES" in sheet.formula.document.text and os.getpid() != int(os.environ["MAIN"]):
        os._exit(9)
    return ()

rule.check = check

@implements
def formcheck_rules():
    os.environ.setdefault("MAIN", str(os.getpid()))
    return [rule]
"""


def test_output_does_not_depend_on_the_number_of_processes(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "pack.py").write_text(PACK.replace("PAUSE", "0.02"))  # long enough that others are started
    outputs = set()
    for number in ("1", "2", "5"):
        run = command(".", "--afresh", "--processes", number, "--pack", "./pack.py", folder=folder)
        out, err = run.communicate(timeout=120)
        assert (run.returncode, err) == (2, b"")
        outputs.add(out)
    assert len(outputs) == 1
    assert b"70 formulas" in outputs.pop()


def test_a_process_that_dies_costs_one_review(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "pack.py").write_text(PACK.replace("PAUSE", "0.02"))
    (folder / "usual" / "balm-60.formula.yaml").write_text(BALM.replace("SHARE", "q.s.") + "# DIES\n")
    run = command(".", "--format", "json-lines", "--processes", "2", "--pack", "./pack.py", folder=folder)
    out, err = run.communicate(timeout=120)
    assert (run.returncode, err) == (2, b"")
    reviews = [json.loads(line) for line in out.splitlines()]
    assert len(reviews) == 70
    unread = {Path(review["file"]).name: review["errors"][0]["message"] for review in reviews if review["errors"]}
    assert list(unread) == ["balm-11.formula.yaml", "balm-60.formula.yaml"]
    assert "was ended from outside" in unread["balm-60.formula.yaml"]


def _group(number: int) -> set[int]:
    """The processes of a process group that are still alive."""
    found = set()
    for entry in os.listdir("/proc"):
        if entry.isdigit():
            try:
                parts = Path("/proc", entry, "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(parts[2]) == number and parts[0] != "Z":
                found.add(int(entry))
    return found


def _until(what: Any, seconds: float = 30) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.05)
    return False


@pytest.mark.skipif(sys.platform != "linux", reason="processes are counted in /proc")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=lambda how: how.name)
def test_nobody_is_left_behind(folder: Path, tmp_path: Path, how: signal.Signals) -> None:
    (tmp_path / "pack.py").write_text(PACK.replace("PAUSE", "0.1"))
    report = tmp_path / "review.txt"
    report.write_text("of the run before")
    arguments = (".", "--processes", "3", "--pack", "./pack.py", "--format", "json-lines", "--format", f"text={report}")
    run = command(*arguments, folder=folder)
    assert _until(lambda: len(_group(run.pid)) >= 4), "the other processes did not start"
    if how == signal.SIGINT:
        os.killpg(run.pid, how)  # as a terminal does it
    else:
        os.kill(run.pid, how)
    out, err = run.communicate(timeout=60)
    assert _until(lambda: not _group(run.pid)), "processes are left"
    assert report.read_text() == "of the run before"
    if how == signal.SIGINT:
        assert run.returncode == 130
        done = len(out.splitlines())
        assert 0 < done < 70
        assert all(json.loads(line)["verdict"] for line in out.splitlines())
        assert err.decode().startswith(f"formcheck: stopped; {done} formula")
        assert err.count(b"\n") == 1
        assert not list(tmp_path.glob("*.part"))


def test_a_number_of_processes_is_a_number(folder: Path) -> None:
    run = command(".", "--processes", "none", folder=folder)
    _, err = run.communicate(timeout=60)
    assert run.returncode == 2
    assert err.count(b"\n") == 1
    assert b"from 1 to 512" in err


def test_settings_that_change_during_a_run_are_not_kept_under_the_old_key(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another process reviews with other settings than those the key was made of is given, and not kept."""
    kept: list[Review] = []
    monkeypatch.setattr("formcheck.review.kept.Kept.put", lambda self, key, until, review: kept.append(review))
    monkeypatch.setattr("formcheck.review.kept.cache_folder", lambda: str(tmp_path / "cache"))
    monkeypatch.setattr("formcheck.review.here.ALONE_S", 0.0)

    def elsewhere(items: Any, setup: Any, processes: int) -> Any:
        """In place of another process: a reviewer that reads settings for itself, after they changed."""
        (folder / "strict" / "formcheck.toml").write_text("threshold = 'minor'\n")
        many._here.run = None

        def submit(tasks: Any) -> Future[list[Answer]]:
            future: Future[list[Answer]] = Future()
            future.set_result(many.review_chunk(setup, tasks))
            return future

        return in_order(items, submit, ahead=2)

    monkeypatch.setattr("formcheck.review.pool.over_processes", elsewhere)
    tasks = [Task(str(path)) for path in sorted(folder.rglob("*.formula.yaml"))]
    given = [review for review, _ in reviewed_here(tasks, Reviewer(today=DAY), (), processes=2)]
    assert {review.threshold for review in given} == {"major", "minor", "note"}
    assert {review.threshold for review in kept} == {"major", "note"}, "alone, the first was done with the old settings"


# --- addresses


@pytest.fixture
def address(folder: Path) -> str:
    pytest.importorskip("fsspec")
    return folder.as_uri()


def test_addresses_are_read_with_what_lies_beside(folder: Path, address: str) -> None:
    here = [review._replace(file="") for review in formcheck.review_many([folder], today=DAY)]
    there = [review._replace(file="") for review in formcheck.review_many([address], today=DAY)]
    assert there == here
    one = f"{address}/strict/balm-03.formula.yaml"
    (review,) = formcheck.review_many([one], today=DAY)
    assert (review.file, review.threshold) == (one, "note")


def test_an_address_in_memory_serves_as_an_object_store(folder: Path) -> None:
    """fsspec's own store in memory: it knows no folders of this machine."""
    fsspec = pytest.importorskip("fsspec")
    store = fsspec.filesystem("memory")
    for path in folder.rglob("*.*"):
        store.pipe(f"/bucket/{path.relative_to(folder).as_posix()}", path.read_bytes())
    store.pipe("/bucket/usual/materials.yaml", b"formcheck: 1\nmaterials: {Cera Alba: {colour of the moon: 3}}\n")
    reviews = {review.file: review for review in formcheck.review_many(["memory://bucket"], today=DAY)}
    assert len(reviews) == 70
    assert reviews["memory://bucket/strict/balm-03.formula.yaml"].threshold == "note"
    wrong = reviews["memory://bucket/usual/balm-01.formula.yaml"]
    assert "in memory://bucket/usual/materials.yaml:2:" in wrong.errors[0].message
    store.rm("/bucket", recursive=True)


def test_the_command_takes_addresses(address: str, folder: Path) -> None:
    run = command(address, f"{address}/none.formula.yaml", "nowhere://x/y", "--format", "json-lines", folder=folder)
    out, err = run.communicate(timeout=120)
    assert (run.returncode, err) == (2, b"")
    reviews = [json.loads(line) for line in out.splitlines()]
    assert len(reviews) == 72
    assert "cannot be opened" in reviews[-2]["errors"][0]["message"]
    assert "nowhere" in reviews[-1]["errors"][0]["message"]


@pytest.mark.filterwarnings("default")
def test_addresses_over_a_cluster(address: str, folder: Path, dask: Executor) -> None:
    here = [review._replace(file="") for review in formcheck.review_many([folder], today=DAY)]
    there = formcheck.review_many([address], executor=dask, today=DAY)
    assert [review._replace(file="") for review in there] == here
