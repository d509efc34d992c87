"""python -m formcheck"""

import sys

from .commands.main import main

sys.exit(main())
