"""The runner: what is up to date is skipped, what failed is set aside, what was killed is finished."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundglow.errors import FrameError, JobError
from groundglow.job.folder import JobFolder
from groundglow.job.ledger import Ledger, one_writer
from groundglow.job.runner import Item, Runner, pool


def double(out: Path, *, source: Path, by: int = 2) -> None:
    """Write a multiple of the number in a file."""
    number = int(source.read_text())
    if number < 0:
        raise FrameError(f"{number} is negative")
    out.write_text(str(by * number))


@pytest.fixture
def job(tmp_path: Path) -> JobFolder:
    (tmp_path / "brief.toml").write_text("")
    for name, number in {"a": 1, "b": -2, "c": 3}.items():
        (tmp_path / name).write_text(str(number))
    return JobFolder(tmp_path)


def items(job: JobFolder, by: int = 2) -> list[Item]:
    return [
        Item("check", n, double, {"source": job.root / n, "by": by}, (job.root / n,), (job.out / f"{n}.txt",))
        for n in "abc"
    ]


def run(job: JobFolder, batch: list[Item], workers: int = 1) -> Runner:
    ledger = Ledger(job.ledger, job.root)
    with pool(workers) as executor:
        runner = Runner(job, ledger, executor, None)
        runner.do(batch)
    ledger.close()
    return runner


@pytest.mark.parametrize("workers", [1, 2])
def test_one_bad_item_is_set_aside_with_its_reason_and_the_rest_is_done(job: JobFolder, workers: int) -> None:
    runner = run(job, items(job), workers)
    assert (job.out / "a.txt").read_text() == "2"
    assert (job.out / "c.txt").read_text() == "6"
    assert not (job.out / "b.txt").exists()
    assert runner.tallies["check"].set_aside == {"b": "-2 is negative"}


def test_nothing_is_done_twice_while_inputs_and_settings_stay(job: JobFolder) -> None:
    run(job, items(job))
    again = run(job, items(job)).tallies["check"]
    assert (again.done, again.kept) == (0, 3)
    assert again.set_aside == {"b": "-2 is negative"}


def test_only_what_depends_on_a_changed_input_is_done_again(job: JobFolder) -> None:
    run(job, items(job))
    (job.root / "c").write_text("50")
    runner = run(job, items(job))
    assert (runner.tallies["check"].done, runner.tallies["check"].why) == (1, "c changed")
    assert (job.out / "c.txt").read_text() == "100"


def test_a_changed_setting_makes_all_items_due(job: JobFolder) -> None:
    run(job, items(job))
    assert run(job, items(job, by=3)).tallies["check"].done == 3


def test_an_output_that_was_edited_or_deleted_is_made_again(job: JobFolder) -> None:
    run(job, items(job))
    (job.out / "a.txt").write_text("tampered")
    (job.out / "c.txt").unlink()
    assert run(job, items(job)).tallies["check"].done == 2
    assert (job.out / "a.txt").read_text() == "2"


def test_outputs_of_items_that_are_gone_are_removed(job: JobFolder) -> None:
    run(job, items(job))
    ledger = Ledger(job.ledger, job.root)
    Runner(job, ledger, None, None).prune("check", {"a", "b"})
    assert not (job.out / "c.txt").exists()
    assert [e.key for e in ledger.entries("check")] == ["a", "b"]
    ledger.close()


def test_no_temporary_name_is_left_behind(job: JobFolder) -> None:
    run(job, items(job))
    assert sorted(p.name for p in job.out.iterdir()) == ["a.txt", "c.txt"]


def test_a_second_writer_is_refused_with_a_clear_message(job: JobFolder) -> None:
    with one_writer(job.root), pytest.raises(JobError, match="being worked on by another run"), one_writer(job.root):
        pass


def test_the_ledger_tells_inputs_settings_and_version_of_each_output(job: JobFolder) -> None:
    run(job, items(job))
    ledger = Ledger(job.ledger, job.root)
    entry = ledger.entry("check", "a")
    assert entry is not None
    assert set(entry.inputs) == {"a"}
    assert len(entry.inputs["a"]) == 64
    assert entry.settings == {"source": "a", "by": 2}
    ledger.close()


def test_a_pool_that_is_open_is_used_and_left_open(job: JobFolder) -> None:
    with pool(2) as executor:
        assert executor is not None
        ledger = Ledger(job.ledger, job.root)
        Runner(job, ledger, executor, None).do(items(job))
        ledger.close()
        assert executor.submit(int, "7").result() == 7
