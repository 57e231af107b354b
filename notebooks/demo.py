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
# # A day at Tollbury Clockworks
#
# **Everything here is invented**: the workshop, its oven, its tester and its bar of steel (`demo_shop/generate.py`
# made the files). One person mends tower clocks and needs six setting gauges of O1, 6 mm thick, at 60 to 63 HRC. The
# gauges came out of the quench at 64.6 HRC. We plan the temper, read the oven's log, read the gauges, and decide
# about each.

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import pandas as pd

import afterquench as aq

HERE = Path("notebooks") if Path("notebooks").is_dir() else Path()
SHOP = HERE / "demo_shop"
OUTPUT = HERE / ".." / "demo-output"
OUTPUT.mkdir(exist_ok=True)
LOWER, UPPER = 60.0, 63.0

# %% [markdown]
# ## Plan
# Which temperature, and how likely is it to land inside? The answer already knows that ovens are uneven and bars
# differ.

# %%
plan = aq.plan("O1", target_hrc=(LOWER, UPPER), as_quenched_hrc=64.6, thickness_mm=6)
best = plan.best
assert best is not None  # Only a part that was measured and lies inside already has none.
print(f"Plan:      set {best.temperature_c:.0f} °C, {best.cycles} × {best.time_h:g} h  ->  {best.hrc}")
print(f"           chance of landing inside {LOWER:g} to {UPPER:g} HRC: {100 * best.p_inside:.0f} %")

# %% [markdown]
# One hour instead of two would need a little more heat. How much depends on the steel's constant C, so it is a band.

# %%
print(f"           in one hour instead: {aq.equivalent_temperature_estimate(best.temperature_c, best.time_h, 1.0)}")

# %% [markdown]
# ## The log
# The shop set 215 °C, loaded the gauges into the hot oven, and the fuse blew 55 minutes later, taking the logger with
# it. The reader lists everything it mended; the hole is bounded from both sides rather than bridged by a line.

# %%
log = aq.read_log(SHOP / "oven_log.csv", corrections=SHOP / "channels.csv")
for repair in log.repairs:
    print(f"Repaired:  {repair.kind}: {repair.why}")
received = log.history(c=None).estimate
print(f"Oven log:  the steel got the same as two hours at {received}")

# %%
axes = aq.plot.log(log)
axes.set_title("Tollbury Clockworks (invented): what the gauges got")
plt.show()

# %% [markdown]
# ## The tester
# Five readings on a reference block say by how much the tester is off, near that block's hardness.

# %%
block = pd.read_csv(SHOP / "test_block.csv", comment="#").iloc[0]
tester = aq.tester_from_block(
    block[["r1", "r2", "r3", "r4", "r5"]].astype(float).tolist(),
    block["scale"],
    float(block["block_value"]),
    float(block["block_expanded_uncertainty_k2"]),
)
print(f"Tester:    shows {tester.bias} too much near {block.block_value} HRC")

# %% [markdown]
# ## Readings and decisions
# Three answers are possible. *Not decided* means that readings of this quality can't settle it, whichever way it is.

# %%
for row in pd.read_csv(SHOP / "readings.csv", comment="#").to_dict("records"):
    readings = aq.Readings(
        [row["r1"], row["r2"], row["r3"]],
        row["scale"],
        thickness_mm=row["thickness_mm"],
        place=row["place"],
        tester=tester,
    )
    try:
        decision = aq.decide(readings, lower=LOWER, upper=UPPER)
    except aq.RefusedError as refusal:
        print(f"{row['gauge']}:        {refusal.why}")
        continue
    # No reading makes certain.
    chance = "over 99" if decision.p_inside > 0.99 else f"{100 * decision.p_inside:.0f}"
    print(f"{row['gauge']}:        {decision.verdict}: {readings.estimate()}, {chance} % inside {LOWER:g} to {UPPER:g}")

# %% [markdown]
# ## What next for the hard one
# Gauge 4 is from another bar and came out hard. A second temper can soften it; nothing hardens it again, so it goes
# in steps.

# %%
again = aq.retemper("O1", measured_hrc=63.3, target_hrc=61.5, previous=[(received.value, 2)])
# Of a part that lies inside already .best is None, and .leave says why to leave it as it is.
step = again.best
print(
    f"G4 again:  {again.leave if step is None else f'{step.temperature_c:.0f} °C, {step.time_h:g} h  ->  {step.hrc}'}"
)

# %% [markdown]
# ## The sheet for the file

# %%
sheet = (OUTPUT / "tollbury_gauges.html").resolve()
aq.report.write_plan_sheet(plan, sheet, replace=True)
print(f"Sheet:     {sheet}")
