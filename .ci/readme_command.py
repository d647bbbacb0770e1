"""Print the nth shell block of the README, so that the gate runs what the reader is told to."""

import re
import sys
from pathlib import Path

readme = Path(__file__).parent.parent / "README.md"
blocks = re.findall(r"^```sh\n(.*?)^```", readme.read_text("utf-8"), re.MULTILINE | re.DOTALL)
sys.stdout.write(blocks[int(sys.argv[1]) - 1].strip() + "\n")
