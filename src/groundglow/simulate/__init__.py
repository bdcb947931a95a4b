"""An invented site flown through the same model that is used backwards: demo, tests, what-if views.

Nobody's site, nobody's camera. `make_demo` writes a job as a client and a pilot would leave it, and its truth in a
folder of its own; `score` compares findings with that truth. No step imports this room or reads a truth.
"""

from groundglow.simulate.demo import make_demo
from groundglow.simulate.scoring import Level, Score, score

__all__ = ["Level", "Score", "make_demo", "score"]
