"""What all tests share."""

from __future__ import annotations

import hypothesis

hypothesis.settings.register_profile("steady", derandomize=True, deadline=None)
hypothesis.settings.load_profile("steady")
