"""Request bodies straight to disk, piece by piece, with a limit on size and on dawdling."""

from collections.abc import AsyncIterator, Callable, Iterator
from http import HTTPStatus
from typing import Final, TypeVar

import anyio
import anyio.from_thread
import anyio.to_thread
from fastapi import HTTPException, Request
from starlette.requests import ClientDisconnect

from worker.state import TooLarge

PIECE_S: Final = 30.0
"""A sender that is silent for this long is hung up on."""

_AT_ONCE: Final = 64
_threads: Final = anyio.CapacityLimiter(_AT_ONCE)  # of their own, so that slow senders block nobody who only asks

_T = TypeVar("_T")


async def receive(request: Request, most_bytes: int, take: Callable[[Iterator[bytes]], _T]) -> _T:
    """Hand the body to a function that runs in a thread, as an iterator over its pieces.

    Raises
    ------
    TooLarge : the sender announces more than is taken
    HTTPException : the sender was silent for too long, or hung up
    """
    announced = request.headers.get("content-length", "")
    if announced.isdecimal() and int(announced) > most_bytes:
        raise TooLarge(f"more than {most_bytes} bytes")
    stream = request.stream()

    def pieces() -> Iterator[bytes]:
        while (piece := anyio.from_thread.run(_next, stream)) is not None:
            yield piece

    try:
        return await anyio.to_thread.run_sync(take, pieces(), limiter=_threads)
    except TimeoutError as error:
        raise HTTPException(HTTPStatus.REQUEST_TIMEOUT, f"nothing came for {PIECE_S:g} s") from error
    except ClientDisconnect as error:
        raise HTTPException(HTTPStatus.BAD_REQUEST, "the body ended early") from error


async def _next(stream: AsyncIterator[bytes]) -> bytes | None:
    with anyio.fail_after(PIECE_S):
        return await anext(stream, None)
