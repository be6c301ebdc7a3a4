"""How the next step follows from the error of the last: the numbers that both engines go by (numerical)."""

from __future__ import annotations

BOUNDED = 1e200
"""Rows whose typical size is below this are held to the tolerance and to staying at or above 0."""
DUST = 1e-200
"""Amounts smaller than this become 0: they mean nothing, and processors are slow at denormal numbers."""
SAFETY, LEAST_FACTOR, MOST_FACTOR = 0.9, 0.2, 4.0
"""Of the step that the error would just allow; of the last step, at least and at most."""
FIRST_MOST_FACTOR = 50.0
"""After a short first step, of whose error nothing was known before."""
LEAST_SHARE = 1.0 / 8.0
"""By how much less error the next step may count on, because the last one had less than the one before."""
TIMES_OF_DAY = 96
"""Days are alike: the first step of a segment is tried as long as the day before at the same quarter hour
proved to be possible, apart for segments that go on smoothly and those that begin with a jump."""
HABIT_MOST_FACTOR = 2.5
"""From one day to the next, at most; and no longer at all after a refusal."""
