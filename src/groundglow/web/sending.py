"""Files that go out while somebody may be writing: as they were when they were opened."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import BinaryIO, Literal
from urllib.parse import quote

from fastapi.responses import StreamingResponse

__all__ = ["sent"]

PIECE = 256 * 1024


def sent(
    path: Path, kind: str, shown: Literal["inline", "attachment"], headers: Mapping[str, str]
) -> StreamingResponse:
    """A file as it is now: what is added afterwards is not sent, what replaces it neither."""
    stream = path.open("rb")
    size = os.fstat(stream.fileno()).st_size
    told = {
        **headers,
        "content-length": str(size),
        "content-disposition": f"{shown}; filename*=utf-8''{quote(path.name)}",
    }
    return StreamingResponse(_pieces(stream, size), media_type=kind, headers=told)


def _pieces(stream: BinaryIO, size: int) -> Iterator[bytes]:
    with stream:
        while size > 0:
            piece = stream.read(min(PIECE, size))
            if not piece:
                return
            size -= len(piece)
            yield piece
