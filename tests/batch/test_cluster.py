"""A batch on a cluster of two local workers; Dask itself is the judge of lost workers."""

import pytest

from reporter.command_line import run
from reporter.errors import ExitCode
from tests.batch.lessons import write_lessons

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def cluster():
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, processes=True
    ) as started:
        yield started


def test_a_cluster_gives_the_same_handouts(tmp_path, cluster):
    root = tmp_path / "in"
    write_lessons(root, 12, 0, seed=11)
    assert run(["batch", str(root), "-o", str(tmp_path / "here"), "-q"]) == ExitCode.OK
    far = ["batch", str(root), "--cluster", cluster.scheduler_address, "-q"]
    assert run([*far, "-o", str(tmp_path / "shared")]) == ExitCode.OK
    assert run([*far, "-o", str(tmp_path / "sent"), "--send-files"]) == ExitCode.OK
    here = sorted((tmp_path / "here").rglob("*.pdf"))
    assert len(here) == 12
    for one in here:
        inside = one.relative_to(tmp_path / "here")
        assert (tmp_path / "shared" / inside).read_bytes() == one.read_bytes()
        assert (tmp_path / "sent" / inside).read_bytes() == one.read_bytes()


def test_a_lost_worker_costs_nothing(tmp_path, cluster):
    """One of two workers is killed under way: its lessons are built by the other."""
    import os
    import signal
    import threading
    import time

    root = tmp_path / "in"
    write_lessons(root, 60, 0, seed=12)

    def kill_one():
        time.sleep(0.6)
        os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)

    killer = threading.Thread(target=kill_one)
    killer.start()
    command = ["batch", str(root), "-o", str(tmp_path / "out"), "-q"]
    code = run([*command, "--cluster", cluster.scheduler_address])
    killer.join()
    assert code == ExitCode.OK
    assert len(list((tmp_path / "out").rglob("*.pdf"))) == 60


def test_nobody_at_the_address(tmp_path, capsys):
    write_lessons(tmp_path / "in", 8, 0, seed=1)
    command = ["batch", str(tmp_path / "in"), "--cluster"]
    assert run([*command, "tcp://127.0.0.1:9"]) == ExitCode.INPUT_REFUSED
    assert "no cluster answers" in capsys.readouterr().err
    assert run([*command, "nonsense"]) == ExitCode.INPUT_REFUSED


def test_another_version_on_a_worker_is_refused(tmp_path, capsys, cluster, monkeypatch):
    import reporter.batch.cluster as ours

    write_lessons(tmp_path / "in", 8, 0, seed=1)
    real = ours.worker_version
    monkeypatch.setattr(ours, "__version__", "9.9.9")
    assert "9.9.9" in real()
    # The function travels by name, so that the workers answer with their own version.
    command = ["batch", str(tmp_path / "in"), "--cluster", cluster.scheduler_address]
    assert run(command) == ExitCode.INPUT_REFUSED
    assert "make them the same" in capsys.readouterr().err
