"""A search on a Dask scheduler by its address: the same to the last bit. Skipped where `distributed` is not installed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from support import halfshaft

distributed = pytest.importorskip("distributed", reason="the extra `cluster` is not installed")


def test_workers_of_a_cluster_find_bit_for_bit_what_processes_here_find(tern_folder: Path) -> None:
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, scheduler_port=0, protocol="tcp://"
    ) as cluster:
        there = halfshaft("arrange", tern_folder, "--effort", "0.5", "--json", "--cluster", cluster.scheduler_address)
    assert there.returncode == 0, there.stderr
    here = halfshaft("arrange", tern_folder, "--effort", "0.5", "--json")
    assert json.loads(there.stdout) == json.loads(here.stdout)
    assert there.stdout == here.stdout
