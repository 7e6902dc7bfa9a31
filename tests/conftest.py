"""What holds for all tests."""

from __future__ import annotations

from hypothesis import settings

# A busy machine is slow, and no test here is about time: the benchmarks measure that.
settings.register_profile("sayso", deadline=None)
settings.load_profile("sayso")
