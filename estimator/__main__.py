"""The command's first moments: an interrupt while the program loads is answered in words, like any other."""

from __future__ import annotations

import sys


def main() -> int:
    """Load the program and run one command. Returns its exit status."""
    try:
        from estimator.cli.app import main as run
    except KeyboardInterrupt:
        from estimator.errors import EXIT_INTERRUPTED

        sys.stderr.write("interrupted: nothing was begun\n")
        return EXIT_INTERRUPTED
    return run()


if __name__ == "__main__":
    sys.exit(main())
