"""``python -m respcalc``."""

from __future__ import annotations

import sys

from respcalc.command.main import main

sys.exit(main())
