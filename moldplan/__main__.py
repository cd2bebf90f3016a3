"""python -m moldplan"""

import sys

from moldplan.cli import main

if __name__ == "__main__":
    sys.exit(main())
