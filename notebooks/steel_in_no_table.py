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
# # Hardness of a steel that is in no table
#
# Tables cover a few dozen steels at one hold. This page asks for hardness from composition, temperature and time, and
# shows what the answer is worth: first on published master curves, then on a steel that no open data measure.

# %%
import csv
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np

import afterquench as aq

# %% [markdown]
# ## Published master curves, and ours through them
#
# J. H. Hollomon and L. D. Jaffe (1945) drew hardness of plain carbon steels against T(C + log t): tempers of seconds
# to a day fall on one curve for each steel. Their measured points are drawn here with the curve that composition and
# as-quenched hardness give. These steels are in the fit, so this picture shows the form and no skill;
# docs/prediction.md has scores of steels left out.

# %%
data = Path("src/data/temper_measured_1945_2010.csv")
if not data.exists():
    data = Path("..") / data
with data.open(encoding="utf-8") as file:
    every = list(csv.DictReader(line for line in file if not line.startswith("#")))
rows = [row for row in every if "Hollomon" in row["source"] and float(row["time_s"]) >= 900]

elements = ["C", "Mn", "P", "Si", "Cr"]
figure, ax = plt.subplots(figsize=(8, 5), layout="constrained")
for name in dict.fromkeys(row["steel"] for row in rows):
    own = [row for row in rows if row["steel"] == name]
    alloy = {element: float(own[0][element]) for element in elements}
    # The 0.31 % C steel read 46.5 HRC as quenched, so low that the answer would be "the hardening failed".
    quenched = float(own[0]["initial_hrc"]) if alloy["C"] > 0.4 else None
    c = float(aq.constant_from_carbon(alloy["C"]))
    celsius = np.array([float(row["temper_c"]) for row in own])
    hours = np.array([float(row["time_s"]) / 3600 for row in own])
    parameter = np.asarray(aq.temper_parameter(celsius, hours, c=c)) / 1000
    (points,) = ax.plot(parameter, [float(row["hrc"]) for row in own], "o", markersize=4, label=name)
    line = np.linspace(100, 700, 121)
    ours = np.asarray(aq.hardness_from_composition(alloy, line, 1.0, as_quenched_hrc=quenched))
    ax.plot(np.asarray(aq.temper_parameter(line, 1.0, c=c)) / 1000, ours, color=points.get_color(), linewidth=1.2)
ax.axhspan(0, 20, color="#8a8f98", alpha=0.15, linewidth=0)
ax.set(
    xlabel="T (21.3 − 5.8 %C + lg t) / 1000, K and h", ylabel="Hardness (HRC), grey: outside the scale", ylim=(5, 68)
)
ax.legend(fontsize="small", frameon=False)
plt.show()

# %% [markdown]
# ## A steel without open data: 80CrV2
#
# Nominal composition from standards. The interval is that of one further reading of this steel, 95 %.

# %%
steel_80crv2 = {"C": 0.80, "Mn": 0.45, "Si": 0.30, "Cr": 0.55, "V": 0.20}
celsius = np.linspace(150, 300, 16)
bare = [aq.hardness_from_composition_estimate(steel_80crv2, at, 2.0) for at in celsius]
low, high = np.array([made.interval(0.95) for made in bare]).T
print(f"200 °C, 2 h: {bare[5]}")
print(f"width of the 95 % interval there: {high[5] - low[5]:.1f} HRC")

# %% [markdown]
# ## What two coupons would do
#
# INVENTED readings, for show: 61.5 HRC after 180 °C and 57.0 after 260 °C, two hours each. They move the answer and
# narrow the interval; nothing is switched, the same model takes them into account.

# %%
known = aq.CompositionSteel(steel_80crv2, readings=[(180, 2, 61.5), (260, 2, 57.0)])
after = [known.hardness_after_estimate(at, 2.0) for at in celsius]
low2, high2 = np.array([made.interval(0.95) for made in after]).T

figure, ax = plt.subplots(figsize=(8, 4.5), layout="constrained")
ax.fill_between(celsius, low, high, alpha=0.2, label="composition only, 95 %")
ax.fill_between(celsius, low2, high2, alpha=0.35, label="with two coupons, 95 %")
ax.plot([180, 260], [61.5, 57.0], "ko", label="coupons (INVENTED)")
ax.set(xlabel="Tempering temperature (°C), 2 h", ylabel="Hardness (HRC)", title="80CrV2 from its composition")
ax.legend(frameon=False)
plt.show()

# %%
assert (high2 - low2).mean() < (high - low).mean()
print(f"mean width: {(high - low).mean():.1f} HRC from composition, {(high2 - low2).mean():.1f} with two coupons")

# %% [markdown]
# ## What gets no answer
#
# Stainless and high-speed steel harden again in the temper, which no steel behind the fit did: refused.

# %%
for alloy in ({"C": 0.65, "Cr": 13.0}, {"C": 0.85, "Cr": 4.1, "Mo": 5.0, "W": 6.3, "V": 1.9}, {"C": 0.0080}):
    try:
        aq.hardness_from_composition(alloy, 200, 2)
    except aq.AfterquenchError as error:
        print(f"{type(error).__name__}: {str(error).splitlines()[0]}")
