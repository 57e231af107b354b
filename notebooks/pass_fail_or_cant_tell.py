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
# # Pass, fail or can't tell
#
# A reading is a measurement with a bias, a spread and conditions. This page takes one through: is it believable, what
# does the tester add, what may be said against a drawing, and what if two laboratories disagree. It redraws the rule of
# JCGM 106 (acceptance limits inside the tolerance by a guard band) and the EWMA example of the NIST/SEMATECH
# e-Handbook. The readings on parts are INVENTED.

# %%
import matplotlib.pyplot as plt
import numpy as np

import afterquench as aq

# %% [markdown]
# ## Is it a reading at all?
# Each doubt names its rule, whose rule it is, and what to use instead. What is no reading is never averaged in.

# %%
for readings in (
    aq.Readings([55.1, 53.8], "HRC", place="on the bevel"),
    aq.Readings([55.0, 55.2], "HRC", thickness_mm=0.6),
    aq.Readings([58.7, 58.9, 59.3], "HRC", thickness_mm=2.2, place="flat, ground"),
):
    print(readings)
    for doubt in readings.doubts[:1]:
        print("   ", doubt.rule, "|", doubt.whose, "|", doubt.instead)

# %% [markdown]
# ## The tester
# Five readings on a block give its bias. The block's own uncertainty is in it, and no number of readings lessens that.

# %%
tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
print(tester.advice)
part = aq.Readings([58.7, 58.9, 59.3], "HRC", thickness_mm=2.2, place="flat, ground", tester=tester)
print(part.estimate())
for component, u in part.estimate().components.items():
    print(f"  {component:14} u = {u:.2f} HRC")

# %% [markdown]
# The law of propagation (GUM) adds variances; a million draws (JCGM 101) carry the distributions themselves. With three
# readings Student's tails show in the far ends.

# %%
for name, estimate in {"variances": part.estimate(), "draws": part.monte_carlo()}.items():
    print(f"{name:10} {estimate}  99 %: {np.round(estimate.interval(0.99), 1)}")

# %% [markdown]
# ## Three answers
# With a guard band of two standard uncertainties a value passes only that far inside, and fails only that far outside.
# The picture is the rule of JCGM 106: the chance to be inside, and the zones that follow.

# %%
values, u = np.linspace(56.5, 61.5, 401), 0.4
made = aq.decide(values, 58, 60, u=u)
figure, axes = plt.subplots(figsize=(7, 3.6), layout="constrained")
axes.plot(values, made.p_inside, color="black")
for verdict, colour in {"pass": "#3f8f4f", "not decided": "#d9a441", "fail": "#b5421e"}.items():
    axes.fill_between(values, 0, 1, where=made.verdict == verdict, color=colour, alpha=0.35, label=verdict)
axes.axvline(58, color="black", linestyle=":")
axes.axvline(60, color="black", linestyle=":")
axes.set(xlabel="best value (HRC)", ylabel="chance to be inside 58 to 60 HRC", ylim=(0, 1))
axes.legend(loc="upper right")

# %%
decision = aq.decide(part, 58, 60)
print(decision.why)
print("before measuring:", aq.acceptance_zone(58, 60, u=0.5))
print("readings for ±0.3 HRC at a spread of 0.4:", aq.readings_needed(0.3, 0.4))

# %% [markdown]
# ## Two laboratories
# Who is right is the wrong question where the difference lies inside what both don't know.

# %%
print(aq.compare_results(aq.Estimate(58.6, 0.35, "HRC"), aq.Estimate(57.8, 0.35, "HRC")))

# %% [markdown]
# ## It came out soft: why?
# Each cause goes through the curve to HRC and is held against the difference. What was measured comes first.

# %%
curve = aq.TemperingCurve(
    [150, 175, 200, 225, 250, 275, 300],
    [62.6, 61.6, 60.4, 59.1, 57.8, 56.6, 55.5],
    as_quenched_hrc=64.8,
    name="invented",
)
plan = aq.plan(curve, (60, 61), c=20)
got = aq.combine([(245, 0.4), (200, 2)], c=20)
why = aq.explain_soft(aq.Estimate(58.9, 0.3, "HRC"), plan, log=got, as_quenched_hrc=65)
print(why)
print(why.to_frame().round(2).to_string(index=False))
print(why.remedy)

# %% [markdown]
# ## Does the tester drift?
# The EWMA example of the e-Handbook (6.3.2.4): centre 50, weight 0.3. All points lie inside the limits.

# %%
data = [52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
days = [f"2031-01-{day:02}" for day in range(1, 21)]
chart = aq.monitor({"date": days, "value": data}, centre=50, weight=0.3)
figure, axes = plt.subplots(figsize=(7, 3.2), layout="constrained")
axes.plot(data, "o", color="grey", label="checks")
axes.plot(chart.ewma["value"], color="black", label="EWMA")
axes.plot(chart.ewma["lower"], color="#b5421e", label="limits")
axes.plot(chart.ewma["upper"], color="#b5421e")
axes.set(xlabel="check", ylabel="value")
axes.legend()
print("a drift:", chart.verdict)
for row in chart.run_lengths:
    print(f"{row['chart']:12} a shift of {row['shift']:g} standard deviations: {row['checks']:.1f} checks to a signal")
