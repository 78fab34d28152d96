"""`python -m bladewise`."""

import sys

from bladewise.cli import main

sys.exit(main())
