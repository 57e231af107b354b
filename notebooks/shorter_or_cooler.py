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
# # Shorter, or cooler: what is the same temper?
#
# Time and temperature trade against each other through the tempering parameter M = T (C + log10 t) of Hollomon and
# Jaffe (1945). This page first redraws what they found, from their own measured coupons, and then uses it: one hour
# instead of two is a small change; a cooler oven instead of a hotter one is usually hopeless.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import afterquench as aq

DATA = (Path("..") if Path("../src").is_dir() else Path()) / "src" / "data"

# %% [markdown]
# ## What they found
# A plain carbon steel of 0.56 % C, five holds from ten seconds to a day. Against temperature each hold is a curve of
# its own; against the parameter, with C from the carbon content, they fall onto one, but for the ten-second coupons,
# which the furnace had hardly heated through. The data are from the open set "Tempering data for carbon and low alloy
# steels" (CC BY 4.0); values below 20 HRC lie outside the scale and are left out.

# %%
tempers = pd.read_csv(DATA / "temper_measured_1945_2010.csv", comment="#")
coupons = tempers[(tempers["steel"] == "0.56%C - plain carbon steel") & (tempers["hrc"] >= 20)]
c = float(aq.constant_from_carbon(0.56))
print(f"C = 21.3 - 5.8 x 0.56 = {c:.1f} (times in hours)")

HOLDS = {10: "10 s", 90: "90 s", 900: "15 min", 9000: "2.5 h", 86400: "24 h"}
figure, (left, right) = plt.subplots(1, 2, figsize=(10, 4.2), sharey=True, layout="constrained")
for seconds, label in HOLDS.items():
    rows = coupons[coupons["time_s"] == seconds]
    temperature_c = rows["temper_c"].to_numpy()
    hrc = rows["hrc"].to_numpy()
    left.plot(temperature_c, hrc, "o-", markersize=4, linewidth=1, label=label)
    right.plot(aq.temper_parameter(temperature_c, seconds / 3600, c=c), hrc, "o", markersize=4, label=label)
left.set(xlabel="Tempering temperature (°C)", ylabel="Hardness (HRC)", title="five curves")
right.set(xlabel=f"Tempering parameter T (C + log10 t/h) (K), C = {c:.1f}", title="one curve")
left.legend(title="hold")
figure.suptitle("0.56 % C, measured by Hollomon and Jaffe (1945)")
plt.show()

# %% [markdown]
# ## Shorter
# 200 °C for two hours, and what one hour or half an hour would need. C of this steel is not known, so the answer is
# the band that C = 15 to 20 leaves. It is narrow: within a few hours of the table's own hold C hardly matters.

# %%
for hours in (1.0, 0.5, 4.0):
    print(f"{hours:3g} h:  {aq.equivalent_temperature_estimate(200, 2, hours)}")

# %% [markdown]
# ## Cooler
# The recipe says 250 °C for two hours, the oven stops at 210 °C. Time would have to make up for it, and it can't.

# %%
instead = aq.equivalent_time_estimate(250, 2, 210)
print(instead)
for sentence in instead.assumptions:
    print("-", sentence)

# %% [markdown]
# Everything that does the same as 250 °C for two hours lies in this band: wide where the time is far from two hours.

# %%
axes = aq.plot.equivalence_map(250, 2)
axes.set_title("The same as 250 °C for two hours")
plt.show()

# %% [markdown]
# ## Steps add up
# A cycle on top of a cycle is no sum of temperatures: the hotter one decides, the other adds a little.

# %%
for steps in ([(220.0, 2.0), (200.0, 2.0)], [(200.0, 2.0), (200.0, 2.0)]):
    print(steps, "->", aq.combine(steps, c=(15, 20)))
assert np.isclose(aq.combine([(200.0, 1.0), (200.0, 1.0)], c=20).two_hour_equivalent_c, 200.0)
