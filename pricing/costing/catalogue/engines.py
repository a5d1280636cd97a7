"""Who prices the parts of a catalogue: processes of this machine, or the workers of a cluster through dask's scheduler.

Either way a part is priced by the same function of one process, so that its figures are the same to the last bit. A part is
written by whoever prices it; the folder has to be one that all of them see.
"""

from __future__ import annotations

import collections
import contextlib
import itertools
from collections.abc import Callable, Generator, Iterator, Sequence
from pathlib import Path
from typing import Any, Literal

from pricing.costing.catalogue.job import Job, PartDone, Prepared, Stamps, hand_over, open_parts, price_part, stamps_of
from pricing.costing.catalogue.parquet import REMEDY
from pricing.costing.catalogue.variants import VariantError
from pricing.dataclass import dataclass
from pricing.files.left_behind import remove_left_behind
from pricing.files.processes import end_with_parent

Engine = Literal["local", "dask"]

#: Parts that are handed to the scheduler ahead, for each thread that works: enough to keep it busy, few enough to keep it small.
_AHEAD = 4

#: A part is begun so many times again where its worker is lost.
_AGAIN = 5

#: So long a scheduler is waited for.
PATIENCE = "10s"


@dataclass(frozen=True)
class Priced:
    """What a run came to.

    Parameters
    ----------
    parts, kept : how many there are, and how many of them had been finished before
    variants : how many were priced now
    priceless : how many of these have no price, because the piece cannot exist or costs nothing that can be worked out
    """

    parts: int
    kept: int
    variants: int
    priceless: int


def price_catalogue(
    job: Job, out: Path, *, engine: Engine = "local", processes: int = 1, scheduler: str | None = None,
    done: Callable[[int, int], None] = lambda *_: None,
) -> Priced:
    """Price a catalogue into a folder of Parquet files; what a run before left unfinished is finished.

    Parameters
    ----------
    job : what is to be priced; its paths have to be the same on every machine
    out : the folder
    engine : ``local`` for processes of this machine, ``dask`` for a cluster
    processes : of this machine
    scheduler : address of dask's scheduler, where there is one; a cluster of this machine is begun otherwise
    done : called after each part with how many are finished and how many there are

    Problems raised: VariantError, BookError; OSError where the folder cannot be written.
    """
    prepared = job.prepared()
    left = open_parts(prepared, out)
    finished = kept = prepared.parts - len(left)
    done(finished, prepared.parts)
    if engine == "dask":
        found = priced_by_dask(job, out, left, scheduler, processes)
    else:
        found = priced_here(job, out, left, processes)
    variants = priceless = 0
    with contextlib.closing(found):
        for part in found:
            variants, priceless, finished = variants + part.rows, priceless + part.priceless, finished + 1
            done(finished, prepared.parts)
    remove_left_behind(out)
    return Priced(prepared.parts, kept, variants, priceless)


def priced_here(job: Job, out: Path, parts: Sequence[int], processes: int = 1) -> Generator[PartDone, None, None]:
    """The parts, priced by processes of this machine, as they are finished.

    Parameters
    ----------
    processes : this one is the first of them, which prices from the beginning while the others start

    Problems raised: VariantError where one of them is ended from outside, as systems do that are out of memory.
    """
    left = iter(parts)
    others = min(processes, len(parts)) - 1
    if others < 1:
        yield from (price_part(job, out, number) for number in left)
        return
    import multiprocessing
    from concurrent.futures import Future, ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from queue import SimpleQueue

    found: SimpleQueue[Future[PartDone]] = SimpleQueue()

    def hand_out(before: Future[PartDone] | None = None) -> None:
        """One part more for the process that is done with another."""
        if before is None or not (before.cancelled() or before.exception()):
            for number in itertools.islice(left, 1):
                future = pool.submit(price_part, job, out, number)
                future.add_done_callback(found.put)
                future.add_done_callback(hand_out)

    # The libraries have threads of their own by now, so that no process is forked.
    begun_with = (job.prepared(), stamps_of(job))
    with ProcessPoolExecutor(others, multiprocessing.get_context("spawn"), _begin, begun_with) as pool:
        try:
            for _ in range(others):
                hand_out()
            yielded = 0
            for number in left:
                yield price_part(job, out, number)
                yielded += 1
                while not found.empty():
                    yield found.get().result()
                    yielded += 1
            for _ in range(yielded, len(parts)):
                yield found.get().result()
        except BrokenProcessPool:
            raise VariantError(
                f"{out}: a process that priced a part was ended from outside, perhaps because memory ran out; the parts that are finished "
                "stay: run the same command again, with fewer --jobs where it happens again"
            ) from None
        finally:
            collections.deque(left, maxlen=0)  # where it ends early, nothing more is handed out
            pool.shutdown(wait=True, cancel_futures=True)


def _begin(prepared: Prepared, stamps: Stamps) -> None:
    """What a process of a run does first."""
    end_with_parent()
    hand_over(prepared, stamps)


def priced_by_dask(
    job: Job, out: Path, parts: Sequence[int], scheduler: str | None = None, processes: int | None = None
) -> Generator[PartDone, None, None]:
    """The parts, priced by the workers of a cluster, as they are finished; a worker that is lost is stood in for.

    Parameters
    ----------
    scheduler : address of dask's scheduler, ``tcp://10.0.0.5:8786``; a cluster of this machine is begun where None
    processes : workers of a cluster of this machine

    Problems raised: VariantError where dask is not installed, or the scheduler cannot be reached.
    """
    with _client(scheduler, processes) as client:
        yield from followed(client, job, out.absolute(), parts)


@contextlib.contextmanager
def _client(scheduler: str | None, processes: int | None) -> Iterator[Any]:
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        raise VariantError(f"dask, which shares the work between machines, is not installed; {REMEDY}") from None
    if scheduler is None:
        with (
            LocalCluster(n_workers=processes, threads_per_worker=1, dashboard_address=None) as cluster,  # type: ignore[no-untyped-call,unused-ignore]
            Client(cluster) as client,  # type: ignore[no-untyped-call,unused-ignore]
        ):
            yield client
        return
    try:
        client = Client(scheduler, timeout=PATIENCE)  # type: ignore[no-untyped-call,unused-ignore]
    except (OSError, ValueError, TimeoutError) as error:
        reason = str(error).partition("\n")[0] or type(error).__name__
        raise VariantError(f"{scheduler}: no scheduler answers there ({reason}); look at the address, or leave it out") from None
    with client:
        yield client


def followed(client: Any, job: Job, out: Path, parts: Sequence[int]) -> Iterator[PartDone]:
    """The parts, priced by the workers of a client's cluster, as they are finished.

    Parameters
    ----------
    client : of dask's scheduler
    """
    import distributed

    as_completed: Any = distributed.as_completed
    mark, waiting = job.mark()[:12], iter(parts)
    ahead = _AHEAD * max(sum(client.nthreads().values()), 2)

    def submitted(number: int) -> Any:
        return client.submit(price_part, job, out, number, key=f"part-{number}-{mark}", pure=False, retries=_AGAIN)

    found = as_completed([submitted(number) for number in itertools.islice(waiting, ahead)])
    for future in found:
        done: PartDone = future.result()
        future.release()
        for number in itertools.islice(waiting, 1):
            found.add(submitted(number))
        yield done
