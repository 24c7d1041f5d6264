"""`python -m groundtruth` is the same as the command `groundtruth`."""

import sys

from .cli.main import main

sys.exit(main())
