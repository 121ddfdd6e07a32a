"""Debian's Firefox for Playwright, which drives it by WebDriver BiDi (w3.org/TR/webdriver-bidi).

Playwright starts this file in place of the browser. It starts Firefox and hands on every message, but for what
Playwright asks of each page and this Firefox does not know: those it answers itself.
"""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import sys
from typing import TYPE_CHECKING

from websockets.asyncio.client import connect
from websockets.asyncio.server import serve

if TYPE_CHECKING:
    from collections.abc import Sequence

    from websockets.asyncio.server import ServerConnection

LISTENS = "WebDriver BiDi listening on "
#: A light or dark page; without it the page is as the system has it.
UNKNOWN = {"emulation.setMediaFeaturesOverride"}


async def run(firefox: str, arguments: Sequence[str]) -> int:
    """Start Firefox and stand between it and Playwright until it ends; its exit code."""
    process = await asyncio.create_subprocess_exec(firefox, *arguments, stderr=asyncio.subprocess.PIPE)
    for number in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(number, process.terminate)
    assert process.stderr is not None
    address = ""
    async for line in process.stderr:
        if found := re.search(f"{LISTENS}(ws://\\S+)", line.decode(errors="replace")):
            address = found[1]
            break

    async def bridge(playwright: ServerConnection) -> None:
        assert playwright.request is not None
        async with connect(address + playwright.request.path, max_size=None, compression=None) as browser:

            async def up() -> None:
                async for message in playwright:
                    asked = json.loads(message)
                    if asked["method"] in UNKNOWN:
                        await playwright.send(json.dumps({"type": "success", "id": asked["id"], "result": {}}))
                    else:
                        await browser.send(message)

            async def down() -> None:
                async for message in browser:
                    await playwright.send(message)

            both = [asyncio.create_task(up()), asyncio.create_task(down())]
            await asyncio.wait(both, return_when=asyncio.FIRST_COMPLETED)
            for one in both:
                one.cancel()

    async with serve(bridge, "127.0.0.1", 0, max_size=None, compression=None) as server:
        print(f"{LISTENS}ws://127.0.0.1:{server.sockets[0].getsockname()[1]}", file=sys.stderr, flush=True)
        async for _ in process.stderr:
            pass
        return await process.wait()


if __name__ == "__main__":
    sys.exit(asyncio.run(run(os.environ["SHAKEWELL_FIREFOX"], sys.argv[1:])))
