"""`python -m diagnose`."""

import sys

from diagnose.cli import main

sys.exit(main())
