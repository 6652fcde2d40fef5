"""How long a handout takes, as ratios measured in one run; ``python -m tests.benchmark``."""
