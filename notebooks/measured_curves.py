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
# # Measured curves of several steels, with the model through them
#
# 1,190 measured tempers of 31 heats come with the package: the open data set "Tempering data for carbon and low alloy
# steels" (CC BY 4.0), collected from Grange and Baughman (1956), Hollomon and Jaffe (1945) and Penha (2010). A steel
# with several holds gets one master curve in the tempering parameter; drawn back at each hold it should pass through
# that hold's coupons. This page draws that, and counts how often the stated ranges hold the measured value.

# %%
from pathlib import Path
from textwrap import shorten

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import afterquench as aq

DATA = (Path("..") if Path("../src").is_dir() else Path()) / "src" / "data"
tempers = pd.read_csv(DATA / "temper_measured_1945_2010.csv", comment="#")
# Below 20 HRC the scale ends; rows with a doubt of their own are kept in the file and left out here.
tempers = tempers[(tempers["hrc"] >= 20) & tempers["doubt"].isna()]

# %% [markdown]
# ## Four steels

# %%
STEELS = ["1045", "4068", "4340", "9264"]
SOURCE = "Grange and Baughman, 1956"
HOLDS = {3600: "1 h", 14400: "4 h", 86400: "24 h"}

figure, axes = plt.subplots(2, 2, figsize=(10, 7), sharex=True, layout="constrained")
for ax, name in zip(axes.flat, STEELS, strict=True):
    curve = aq.steel(name).curve(source=SOURCE)
    coupons = tempers[tempers["steel"] == f"AISI-SAE {name}"]
    for color, (seconds, label) in zip(["tab:blue", "tab:orange", "tab:green"], HOLDS.items(), strict=True):
        rows = coupons[coupons["time_s"] == seconds]
        if rows.empty:
            continue
        ax.plot(rows["temper_c"], rows["hrc"], "o", markersize=4, color=color, label=label)
        between = np.linspace(rows["temper_c"].min(), rows["temper_c"].max(), 200)
        model = curve.hardness_after(between, seconds / 3600, out_of_range="nan")
        ax.plot(between, model, color=color, linewidth=1)
        ax.fill_between(between, model - 2 * curve.u_curve, model + 2 * curve.u_curve, color=color, alpha=0.12)
    low, high = (float(end) for end in curve.range_c)
    ax.axvspan(low, high, color="0.5", alpha=0.06)
    ax.set(title=name, xlabel="Tempering temperature (°C)", ylabel="Hardness (HRC)")
    ax.legend(title="hold")
figure.suptitle("Points: measured by Grange and Baughman. Lines: a master curve, ± 2 u. Grey: its range at two hours")
plt.show()

# %% [markdown]
# ## Is the stated scatter true?
# Of all coupons of these steels, how many lie inside two standard deviations of their own curve? The curve was made
# from them, so this checks the statement of scatter, not the power to predict. Heats with coupons held for seconds
# (the ones from Penha, such as 52100) scatter two or three times as much: there the furnace's time is not the
# steel's.

# %%
for name in STEELS:
    curve = aq.steel(name).curve(source=SOURCE)
    coupons = tempers[tempers["steel"] == f"AISI-SAE {name}"]
    model = curve.hardness_after(
        coupons["temper_c"].to_numpy(), coupons["time_s"].to_numpy() / 3600, out_of_range="nan"
    )
    miss = coupons["hrc"].to_numpy() - model
    known = np.isfinite(miss)
    inside = np.mean(np.abs(miss[known]) <= 2 * curve.u_curve)
    print(f"{name:6} u = {curve.u_curve:.2f} HRC: {100 * inside:.0f} % of {known.sum()} coupons within 2 u")

# %% [markdown]
# ## Printed sheets
# Tool steels are known from makers' sheets, one curve for each source. They do not agree, and are never averaged:
# here is O1, as three sources print it.

# %%
figure, ax = plt.subplots(figsize=(7, 4.2), layout="constrained")
for curve in aq.steel("O1").curves[:3]:
    ax.plot(curve.temperature_c, curve.hrc, "o", markersize=4)
    between = np.linspace(*curve.range_c, 200)
    ax.plot(between, curve.hardness_after(between, curve.time_h), linewidth=1, color=ax.lines[-1].get_color())
    ax.lines[-1].set_label(f"{shorten(curve.sources[0], 36, placeholder=' …')}, {curve.time_h:g} h")
ax.set(xlabel="Tempering temperature (°C)", ylabel="Hardness (HRC)", title="O1: one steel, three sheets")
ax.legend(fontsize="small")
plt.show()
