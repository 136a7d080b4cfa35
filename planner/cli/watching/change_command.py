"""A command of the user's that is told of each change of state."""

from __future__ import annotations

import queue
import subprocess
import threading

__all__ = ["ChangeCommand"]

LONGEST_S = 60.0
AT_THE_END_S = 10.0


class ChangeCommand:
    """Runs a command for each line, one after the other, behind the watch.

    The line comes on the command's standard input, never as part of the command: file names in it cannot be taken for
    commands. A command that takes longer than a minute is ended.

    Parameters
    ----------
    command : str
        As typed in a shell.
    """

    def __init__(self, command: str) -> None:
        self.command = command
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._faults: queue.Queue[str] = queue.Queue()
        self._thread = threading.Thread(target=self._work, daemon=True)
        self._thread.start()

    def tell(self, line: str) -> None:
        """Run the command for a line, soon."""
        self._lines.put(line)

    def faults(self) -> list[str]:
        """Return sentences on what went wrong since this was asked last."""
        found = []
        while not self._faults.empty():
            found.append(self._faults.get())
        return found

    def end(self) -> None:
        """Wait a while for what is still to be run."""
        self._lines.put(None)
        self._thread.join(AT_THE_END_S)

    def _work(self) -> None:
        while (line := self._lines.get()) is not None:
            fault = self._run(line)
            if fault:
                self._faults.put(f"the command of --on-change {fault}: {self.command}")

    def _run(self, line: str) -> str:
        try:
            done = subprocess.run(
                self.command,
                shell=True,
                input=line + "\n",
                encoding="utf-8",
                errors="replace",
                timeout=LONGEST_S,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                check=False,
                start_new_session=True,
            )
        except subprocess.TimeoutExpired:
            return f"took longer than {LONGEST_S:.0f} s and was ended"
        except OSError as error:
            return f"could not be run ({error.strerror})"
        return f"ended with {done.returncode}" if done.returncode else ""
