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
# # Converting hardness readings
#
# A reading on one scale and a drawing on another: the tables of ASTM E140 and ISO 18265 lead from one to the other,
# with an uncertainty of their own that is often larger than the tester's. This page redraws columns of E140 table 1,
# shows where the two standards differ, and what a small step on one scale means on another.

# %%
import matplotlib.pyplot as plt
import numpy as np

import afterquench as aq

# %% [markdown]
# ## One reading
# 700 HV10 with a standard uncertainty of 8. The result names its table; the conversion's share is in its components.

# %%
hrc = aq.convert_hardness_estimate(aq.Estimate(700, 8, "HV10"), "HV10", "HRC")
print(hrc)
print(hrc.components)
print(hrc.assumptions)

# %% [markdown]
# Arrays work as everywhere in NumPy, and containers come back as what they were.

# %%
print(aq.convert_hardness(np.array([600.0, 650.0, 700.0]), "HV", "HRC").round(1))

# %% [markdown]
# ## E140 table 1, redrawn
# Rows are whole HRC; between them the conversion is linear. The shaded band is the range of HRC that the table
# prints.

# %%
printed = np.arange(20.0, 69.0)
between = np.linspace(20.0, 68.0, 481)
figure, axes = plt.subplots(1, 2, figsize=(10, 4.2), layout="constrained")
for ax, scale, label in zip(axes, ["HV", "HR15N"], ["Vickers hardness HV", "Superficial hardness HR15N"], strict=True):
    ax.plot(between, aq.convert_hardness(between, "HRC", scale), color="0.35", label="between the rows")
    ax.plot(printed, aq.convert_hardness(printed, "HRC", scale), ".", markersize=4, label="rows of the table")
    ax.axvspan(20, 68, alpha=0.08, color="tab:green", label="range of the table")
    ax.set(xlabel="Rockwell hardness HRC", ylabel=label, title=f"ASTM E140 table 1: HRC to {scale}")
    ax.legend()
plt.show()

# %% [markdown]
# ## Two standards are two answers
# ISO 18265 and ASTM E140 disagree by up to eight Brinell points. Neither is wrong; the drawing must say which it
# means. Values never go through both.

# %%
range_hrc = np.arange(21.0, 57.0, 1.0)
e140 = aq.convert_hardness(range_hrc, "HRC", "HBW", table="astm-e140-1", out_of_range="nan")
iso = aq.convert_hardness(range_hrc, "HRC", "HBW", table="iso-18265-a1", out_of_range="nan")
figure, ax = plt.subplots(figsize=(7, 4), layout="constrained")
ax.axhline(0, color="0.7", linewidth=1)
ax.plot(range_hrc, iso - e140, ".-")
ax.set(
    xlabel="Rockwell hardness HRC", ylabel="ISO 18265 less ASTM E140 (HBW)", title="What the choice of table is worth"
)
plt.show()

# %% [markdown]
# ## What half a point is worth
# Near 60 HRC half a point on HR15N, a scale people take for precise, is about a whole HRC.

# %%
for scale, step in [("HR15N", 0.5), ("HRA", 0.5), ("HV", 15.0)]:
    there = aq.convert_hardness(60, "HRC", scale)
    back = aq.convert_hardness(there + step, scale, "HRC") - 60
    print(f"{step:4g} {scale:6} near 60 HRC is {back:.2f} HRC")
