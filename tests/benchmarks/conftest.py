"""Benchmarks stand beside the tests and are run by name: ``pytest tests/benchmarks -o python_files="bench_*.py"``."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
