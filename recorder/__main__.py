"""``python -m recorder`` is ``seamnote``."""

import sys

from recorder.cli import main

sys.exit(main())
