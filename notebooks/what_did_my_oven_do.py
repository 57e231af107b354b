# ---
# jupyter:
#   jupytext:
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # What did my oven do?
#
# A log of the demo shop's oven (INVENTED DATA): loaded hot, a fuse out in the middle of the hold, and with it a hole in
# the record. The controller showed the air; what the steel got is another question.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import afterquench as aq

SHOP = next(path for path in (Path("notebooks/demo_shop"), Path("demo_shop")) if path.exists())
log = aq.read_log(SHOP / "oven_log.csv", corrections=SHOP / "channels.csv")
print(log)
for repair in log.repairs:
    print(" ", repair)

# %% [markdown]
# ## The same run by a borrowed recorder
#
# Its clock was never set and passes midnight, it writes decimal commas under two lines of its own, counts 1372 as an
# open circuit, took one spike and lost its plug while it wrote. Which of T1 and T2 lies at the part the reader can't
# know, so it asks; the rest is repaired, and every repair is told.

# %%
BORROWED = SHOP / "borrowed_recorder.csv"
try:
    aq.read_log(BORROWED)
except aq.DataFileError as refused:
    print(refused)

borrowed = aq.read_log(BORROWED, channels={"air": "T1 [°C]", "part_side": "T2 [°C]"})
for repair in borrowed.repairs:
    print(" ", repair)

# %% [markdown]
# Two recorders, one run: the answers should agree, and do.

# %%
ours, theirs = (recorded.history(c=(15, 20)) for recorded in (log, borrowed))
print(ours)
print(theirs)
assert abs(ours.estimate.value - theirs.estimate.value) < 1.0

# %% [markdown]
# ## How the oven behaved

# %%
seen = log.behaviour()
print(seen)
if seen.times_too_strong is not None:
    print("heater against one that works at 35 to 50 % in the hold:", seen.times_too_strong, "times")
for door in seen.doors:
    print(door)

# %% [markdown]
# ## What the steel got, and from which part of the record

# %%
got = log.history(c=(15, 20))
print(got)
ax = aq.plot.log(log)

# %%
for part in got.contributions:
    print(f"{part['label']:>15}: {100 * part['share']:5.1f} % of the temper in {part['seconds'] / 60:5.0f} min")
shares = [part["share"] for part in got.contributions]
assert abs(sum(shares) - 1.0) < 1e-9
ax = aq.plot.contributions(got)

# %% [markdown]
# ## Had there been no sensor beside the part
#
# The air alone leaves the part's lag open: a band of heat transfer coefficients, known to a factor of two. A log with
# both channels gives the lag itself.

# %%
print(log.soak(4, "still air"))
print(log.soak(4, "still air", h_w_m2k="fit"))
print("a 30 mm plate, an hour and a half in an oven at 200 °C:")
print(aq.is_through(30, "still air", 20, 200, time_s=5400))

# %% [markdown]
# ## How long does a section take?
#
# Textbooks print the first root and the first coefficient of a plate's heating for a few Biot numbers (plane wall,
# one-term solution; digits from memory of heat-transfer textbooks) and draw the chart that follows from them. Dots are
# the printed numbers, lines are `section_temperature_c`.

# %%
PRINTED = {
    0.1: (0.3111, 1.0161),
    0.5: (0.6533, 1.0701),
    1.0: (0.8603, 1.1191),
    2.0: (1.0769, 1.1785),
    10: (1.4289, 1.2620),
}
HALF_M, CONDUCTIVITY, CAPACITY = 0.015, 30.0, 3.925e6
SECOND = CONDUCTIVITY / CAPACITY / HALF_M**2  # Fourier number of a second


def core_left(biot: float, fourier: float) -> float:
    """The share of the way to the oven's temperature that the core of a 30 mm plate has left."""
    h = biot * CONDUCTIVITY / HALF_M
    return 1 - aq.section_temperature_c(fourier / SECOND, 2000 * HALF_M, 0.0, 1.0, h_w_m2k=h)


figure, ax = plt.subplots(figsize=(7, 4.2), layout="constrained")
dots, lines = np.linspace(0.4, 4, 10), np.linspace(0.02, 4, 120)
for biot, (root, coefficient) in PRINTED.items():
    (line,) = ax.semilogy(lines, [core_left(biot, f) for f in lines], label=f"Bi = {biot:g}")
    printed = coefficient * np.exp(-(root**2) * dots)
    shown = printed > 5e-3
    ax.plot(dots[shown], printed[shown], "o", color=line.get_color(), markersize=4)
    assert np.allclose([core_left(biot, f) for f in dots], printed, atol=1.5e-3)
ax.set(xlabel="Fourier number", ylabel="what the core still lacks", ylim=(5e-3, 1.1))
ax.legend()
# %% [markdown]
# ## How even is it, and where should the part lie?
#
# Nine sensors in the empty oven for forty minutes, each with its correction.

# %%
survey = aq.survey(SHOP / "survey.csv", 215, SHOP / "survey_sensors.csv")
print(survey)
near, change = ", ".join(survey.best_places[:3]), survey.setting_change_delta_c
print(f"put the part near {near} and change the setting by {change:+.1f} °C")
for place, estimate in survey.two_hour_equivalents(c=(15, 20)).items():
    print(f"{place}: {estimate}")
for note in survey.notes:
    print(" -", note)
ax = aq.plot.survey_map(survey)

# %% [markdown]
# ## While it runs
#
# The same record fed as it came, with the question that matters when the fuse is mended: how long is left?

# %%
frame = log.to_frame()
beside = frame[frame["part_side"].notna() & (frame["elapsed_s"] >= log.load_s)]
watch = aq.OvenWatch(c=(15, 20), channel="part_side", correction=(0.0, 0.5))
half = len(beside) // 2
watch.feed(beside["elapsed_s"].to_numpy()[:half], beside["part_side"].to_numpy()[:half])
print(watch)
left = watch.left_min(seen.setpoint_c)
print(f"until it has what two hours at {seen.setpoint_c:.0f} °C do:", left)

# %% [markdown]
# ## Settings for the controller, tried on the model first
#
# The model is one lag with dead time, no real oven; the settings are a published rule's. With a heater this strong they
# still overshoot on the model: the answer says by how much before anyone types them in.

# %%
model = aq.OvenModel(1500, 5400, 90)
settings = aq.controller_settings(model, "SIMC PI", setpoint_c=200, sensor_lag_s=60)
print(settings)
for caution in settings.cautions:
    print(" -", caution)
ax = aq.plot.controller(settings)
