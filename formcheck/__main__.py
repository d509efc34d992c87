"""python -m formcheck"""

import os
import sys

# -m puts the working folder first, where a formula repository may lie: no Python of it is to run, nor is its data to be a plug-in
if sys.path and sys.path[0] in ("", os.getcwd()):
    del sys.path[0]

from .commands.main import console

sys.exit(console())
