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

import afterquench as aq

SHOP = next(path for path in (Path("notebooks/demo_shop"), Path("demo_shop")) if path.exists())
log = aq.read_log(SHOP / "oven_log.csv", corrections=SHOP / "channels.csv")
print(log)
for repair in log.repairs:
    print(" ", repair)

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
print(f"minutes until it has what two hours at {seen.setpoint_c:.0f} °C do:", left)

# %% [markdown]
# ## Settings that would not overshoot
#
# The model is one lag with dead time, no real oven; the settings are a published rule's, tried on the model first.

# %%
model = aq.OvenModel(1500, 5400, 90)
settings = aq.controller_settings(model, "SIMC PI", setpoint_c=200, sensor_lag_s=60)
print(settings)
for caution in settings.cautions:
    print(" -", caution)
ax = aq.plot.controller(settings)
