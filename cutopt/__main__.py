"""`python -m cutopt` is the same as `cutopt`."""

from __future__ import annotations

from cutopt.commands import main

main()
