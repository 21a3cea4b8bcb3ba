"""Text that has to stand behind other text that is not known yet, kept on the disk once it is long."""

from __future__ import annotations

import tempfile
from typing import IO

_IN_MEMORY = 1 << 20


class Later:
    """Collects text; true if there is any."""

    def __init__(self) -> None:
        """Start empty."""
        self._file = tempfile.SpooledTemporaryFile(  # noqa: SIM115
            _IN_MEMORY, "w+", encoding="utf-8", errors="surrogatepass", newline="\n"
        )
        self._any = False

    def __del__(self) -> None:
        """Give the space back; a run that ends early leaves nothing behind."""
        self._file.close()

    def __bool__(self) -> bool:
        """Say whether there is any."""
        return self._any

    def write(self, text: str) -> None:
        """Add text.

        Args:
            text: what comes next.

        Raises:
            OSError: the folder for temporary files is full.
        """
        self._any = True
        self._file.write(text)

    def copy_to(self, stream: IO[str]) -> None:
        """Write everything, once.

        Args:
            stream: where to.

        Raises:
            OSError: the stream does not take it all.
        """
        self._file.seek(0)
        while part := self._file.read(_IN_MEMORY):
            stream.write(part)
        self._file.close()
