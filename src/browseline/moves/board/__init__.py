"""The season as a board: one forecast, every paddock's season alone, who stands where on each day.

Growth is taken as (date and paddock) times (shape of the herbage), so that a resting paddock keeps an
invariant and a rest of any length is one formula. On the real sward that is an approximation: the
board's plans are then judged, and polished, by the judge.
"""
