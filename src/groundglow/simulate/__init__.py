"""An invented site flown through the same model that is used backwards: demo, tests, what-if views.

Nobody's site, nobody's camera. `ask_demo` writes what a client asks, `make_demo` flies the plans made of it and leaves
a visit as a pilot would, its truth in a folder of its own; `score` compares findings with that truth. No step imports
this room or reads a truth.
"""

from groundglow.simulate.demo import ask_demo, make_demo
from groundglow.simulate.scoring import Level, Score, score

__all__ = ["Level", "Score", "ask_demo", "make_demo", "score"]
