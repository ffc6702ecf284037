"""Long work that a page begins: each by a process of its own, which says how far it is, hands over what it has found, and can be stopped."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from threading import Lock, Thread
from typing import Any, Literal

from halfshaft.errors import HalfshaftError

State = Literal["running", "done", "stopped", "failed"]
# Works whose finds are kept.
KEPT = 8


@dataclass(frozen=True, slots=True)
class Found:
    """What a process hands over: better than what it handed over before."""

    value: Any


@dataclass(slots=True)
class Work:
    """One piece of work: how far it is, and the best that it has found so far."""

    steps: int
    state: State = "running"
    words: str = "starting"
    step: int = 0
    found: Any = None
    process: BaseProcess | None = field(default=None, repr=False)


class Works:
    """The latest pieces of work, by a key."""

    def __init__(self) -> None:
        self._works: OrderedDict[tuple[str, ...], Work] = OrderedDict()
        self._lock = Lock()

    def of(self, key: tuple[str, ...]) -> Work | None:
        """The work of a key, done or going on."""
        return self._works.get(key)

    def start(self, key: tuple[str, ...], steps: int, target: Callable[..., None], *args: Any) -> Work:
        """Begin it, in place of what went on or was found under the same key.

        `target` is called in another process with the end of a pipe and the arguments; into the pipe go words on how far it is, each
        one step, and every Found; a HalfshaftError ends it.
        """
        with self._lock:
            old = self._works.pop(key, None)
            work = self._works[key] = Work(steps=steps)
            ended = [old] if old else []
            while len(self._works) > KEPT:
                ended.append(self._works.popitem(last=False)[1])
        for one in ended:
            _end(one)
        Thread(target=_follow, args=(work, target, args), daemon=True).start()
        return work

    def stop(self, key: tuple[str, ...]) -> None:
        """Stop it; what was found so far is kept."""
        work = self._works.get(key)
        if work is not None and work.state == "running":
            work.state, work.words = "stopped", "stopped"
            _end(work)

    def close(self) -> None:
        """Stop all of them."""
        for work in self._works.values():
            _end(work)


def _end(work: Work) -> None:
    if work.state == "running":
        work.state = "stopped"
    if work.process is not None and work.process.is_alive():
        work.process.terminate()


def _follow(work: Work, target: Callable[..., None], args: tuple[Any, ...]) -> None:
    """Start the process and write down what it says until it ends."""
    context = get_context("spawn")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(there, target, args), daemon=True)
    process.start()
    work.process = process
    there.close()
    try:
        while work.state == "running":
            _take(work, here.recv())
    except EOFError:
        if work.state == "running":
            done = work.found is not None
            work.state = "done" if done else "failed"
            work.words = work.words if done else "this ended by itself and nothing was found; try again, and report it if it happens twice"
    finally:
        here.close()
        if work.state == "stopped":
            process.terminate()
        process.join()


def _take(work: Work, said: object) -> None:
    if isinstance(said, Found):
        work.found = said.value
    elif isinstance(said, HalfshaftError):
        work.state, work.words = "failed", str(said)
    else:
        work.words, work.step = str(said), min(work.step + 1, work.steps)


def _run(out: Connection, target: Callable[..., None], args: tuple[Any, ...]) -> None:
    """In the other process."""
    from halfshaft.web.searches import step_back

    step_back()
    try:
        target(out, *args)
    except HalfshaftError as error:
        out.send(error)
    finally:
        out.close()
