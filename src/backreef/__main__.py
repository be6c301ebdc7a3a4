"""`python -m backreef`: the command line, where no `backreef` stands on the path."""

import os
import sys

from backreef.cli.main import main

if __name__ == "__main__":
    sys.argv[0] = f"{os.path.basename(sys.executable)} -m backreef"  # noqa: PTH119  pathlib costs start-up time
    sys.exit(main())
