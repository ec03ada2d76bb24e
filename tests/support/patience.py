"""How long a test waits for what must come: so long that a busy machine passes, so that only what hangs fails."""

from __future__ import annotations

from typing import Final

PATIENCE_S: Final = 600
