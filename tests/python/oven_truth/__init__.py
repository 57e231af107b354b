"""Oven logs whose truth is known, to ask whether the stated 95 % range holds it.

INVENTED ovens, shops and loggers. `ovens` draws them, `physics` runs them second by second and integrates what the part
really got, `logger` looks at them through faulty sensors and writes the file that a shop would bring, and `calibration`
reads that file with this library and compares. The generator shares no code with the reader and was written from its
documentation alone: what it takes to be plausible is stated here, with the same bands that the reader states.
"""
