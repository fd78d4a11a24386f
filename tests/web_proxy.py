"""A small server in front, as a process of its own: ``python tests/web_proxy.py PORT BACK_PORT NAME``.

It does what servers in front do: it adds to ``X-Forwarded-For`` whoever called it, says that they came by
HTTPS, keeps the Host, and passes bytes on both ways. What lies under ``/grazing`` goes back without it.
"""

from __future__ import annotations

import asyncio
import signal
import sys

BASE = b"/grazing"


async def _head(reader: asyncio.StreamReader) -> tuple[bytes, list[bytes]]:
    first, *rest = (await reader.readuntil(b"\r\n\r\n")).rstrip(b"\r\n").split(b"\r\n")
    return first, rest


def passed_on(first: bytes, lines: list[bytes], caller: str, name: bytes) -> bytes:
    """Return the head of a request as it goes back."""
    method, path, version = first.split(b" ")
    kept = [
        line
        for line in lines
        if line.split(b":")[0].lower() not in (b"host", b"connection", b"x-forwarded-proto")
    ]
    kept += [b"Host: " + name, b"X-Forwarded-Proto: https", b"Connection: close"]
    kept.append(b"X-Forwarded-For: " + caller.encode())
    return b"\r\n".join([b" ".join([method, path.removeprefix(BASE) or b"/", version]), *kept]) + b"\r\n\r\n"


async def _pass(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    try:
        while piece := await reader.read(65_536):
            writer.write(piece)
            await writer.drain()
    except ConnectionError:
        return
    finally:
        writer.close()


async def main(port: int, back: int, name: bytes) -> None:
    """Serve until killed."""

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        first, lines = await _head(reader)
        from_back, to_back = await asyncio.open_connection("127.0.0.1", back)
        to_back.write(passed_on(first, lines, "198.51.100.7", name))
        await asyncio.gather(_pass(reader, to_back), _pass(from_back, writer))

    server = await asyncio.start_server(serve, "127.0.0.1", port)
    async with server:
        await server.serve_forever()


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a test run in the background ignores it else
    asyncio.run(main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3].encode()))
