"""The kernel of a page in a browser, made ready for the kit: what is missing there is said in a sentence."""

from __future__ import annotations

import shutil
import sys
from importlib import invalidate_caches
from importlib.abc import MetaPathFinder
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from kit.in_browser import ABSENT, LAID_BY, NotHereError
from kit.resources import PACKAGE

if TYPE_CHECKING:
    from importlib.machinery import ModuleSpec


class _Finder(MetaPathFinder):
    """Asked last of all: unpacks what was laid by until it is imported, and says in a sentence what is not there."""

    def find_spec(self, fullname: str, _path: object = None, _target: object = None) -> ModuleSpec | None:
        packed = PACKAGE.parent / LAID_BY / f"{fullname}.zip"
        if packed.is_file():
            shutil.unpack_archive(packed, PACKAGE.parent)
            packed.unlink()
            invalidate_caches()
            return find_spec(fullname)
        if fullname in ABSENT:
            msg = (
                f"This part needs {ABSENT[fullname]}, which this page does not have. Everything else here goes on "
                "without it; the kit on a computer of your own has all of it."
            )
            raise NotHereError(msg)
        return None


def begin() -> None:
    """Make the kernel of a page ready for the kit: called by the first ``import kit``, and only there."""
    sys.meta_path.append(_Finder())
    from IPython import get_ipython

    shell: Any = get_ipython()
    if shell is None:
        return
    shell.set_custom_exc((NotHereError,), lambda *about, **_: sys.stdout.write(f"{about[2]}\n"))
    shell.Completer.use_jedi = False  # a slow package that is left out
    manager = shell.kernel.comm_manager
    answer = manager.comm_msg

    def comm_msg(*message: object) -> None:
        answer(*message)
        shell.events.trigger("post_execute")  # as Jupyter's own kernel does; stills are drawn anew by it

    manager.comm_msg = comm_msg
