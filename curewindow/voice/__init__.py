"""The only place with sentences: findings said short, in full, and as an act."""

from curewindow.voice.speaking import TEMPLATES, Said, act, full, said, short, spoken_of

__all__ = ["TEMPLATES", "Said", "act", "full", "said", "short", "spoken_of"]
