"""How many examples Hypothesis tries: the same few in each run, or many, others each time.

`HYPOTHESIS_PROFILE=thorough` chooses the many, as `.ci/run` does.
"""

import os

from hypothesis import HealthCheck, settings

QUICK = 30
CHOSEN = os.environ.get("HYPOTHESIS_PROFILE") or "quick"
ANY_MACHINE = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}

settings.register_profile("quick", max_examples=QUICK, derandomize=True, **ANY_MACHINE)
settings.register_profile("thorough", max_examples=100, **ANY_MACHINE)
settings.load_profile(CHOSEN)


def examples(thorough: int, quick: int = QUICK, **more) -> settings:
    """Try so many examples in the thorough profile; in the quick one `quick`, and no more than in that."""
    return settings(max_examples=thorough if CHOSEN == "thorough" else min(thorough, quick), **more)
