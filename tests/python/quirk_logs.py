"""The smallest logs that show the quirks of real logger files, one for each row of tests/data/csv_quirks.csv.

What is expected of each is the row's right reading. `python tests/python/quirk_logs.py FOLDER` writes them as files,
which is the seed of the fuzz corpus.
"""

from __future__ import annotations

import gzip
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

T = (0.0, 10.0, 20.0)


@dataclass(frozen=True)
class Case:
    """A log and its right reading, or the refusal that says what would settle it."""

    log: bytes
    air: Sequence[float | None] | None = None
    part: Sequence[float | None] | None = None
    seconds: Sequence[float] | None = None
    kinds: frozenset[str] = frozenset()
    silent: frozenset[str] = frozenset()
    hints: Mapping[str, Any] = field(default_factory=dict)
    refused: str | None = None
    says: str = ""
    beside: bytes | None = None
    joined: Mapping[str, Any] = field(default_factory=dict)


def case(log: str | bytes, air: Any = None, *, kinds: str = "", silent: str = "", **known: Any) -> Case:
    text = log.encode() if isinstance(log, str) else log
    split = lambda names: frozenset(name for name in names.split(",") if name)  # noqa: E731
    return Case(text, air, kinds=split(kinds), silent=split(silent), **known)


def clock(rows: str, heading: str = "clock,air_degc") -> str:
    return heading + "\n" + rows.replace(" / ", "\n") + "\n"


def every(step: int, values: Sequence[object], start: int = 0) -> str:
    """Rows of a clock from ten o'clock on."""
    times = (36000 + start + step * i for i in range(len(values)))
    return "".join(f"{t // 3600:02}:{t // 60 % 60:02}:{t % 60:02},{v}\n" for t, v in zip(times, values, strict=True))


TWO_CHANNELS: dict[str, Any] = {"channels": {"air": "T1", "part_side": "T2"}}
STEADY = [200.0, 200.1, 200.2, 200.1, 200.0, 200.1]
HOT = "clock,air_degc\n" + every(10, STEADY)
AFTER = every(10, [200.0, 200.1, 200.0], start=70)


def odd_reading(text: str, start: str = HOT) -> str:
    return start + f"10:01:00,{text}\n" + AFTER


WITHOUT = [*STEADY, None, 200.0, 200.1, 200.0]
ROOM = "clock,air_degc\n" + every(10, [20.0, 20.1, 20.2, 20.1, 20.0, 20.1])
ROOM_AFTER = every(10, [20.0, 20.1, 20.0], start=70)
ROOM_WITHOUT = [20.0, 20.1, 20.2, 20.1, 20.0, 20.1, None, 20.0, 20.1, 20.0]

CASES: dict[str, list[Case]] = {
    "1": [case("clock;air_degc\n12:00:05;199,8\n12:00:15;200,1\n", [199.8, 200.1], kinds="separator")],
    "2": [
        case(
            'clock,air_degc,part_degc\n12:00:05,"199,8","200,1"\n12:00:15,"199,9","200,2"\n',
            [199.8, 199.9],
            part=[200.1, 200.2],
        ),
    ],
    "3": [
        case("clock,air_degc,part_degc\n" + "".join(f"12:00:{s:02},10,5,20,7\n" for s in range(5)), refused="decimal"),
    ],
    "4": [case("elapsed_s\tair_degc\tpart_degc\n0\t20.1\t20.3\n10\t20.2\t20.4\n", [20.1, 20.2], part=[20.3, 20.4])],
    "5": [case("sep=;\nelapsed_s;air_degc\n0;20.1\n10;20.2\n", [20.1, 20.2], kinds="separator")],
    "6": [
        case(
            b"\xef\xbb\xbfTime,T1\n10:00:00,20.1\n10:00:10,20.2\n", [20.1, 20.2], seconds=T[:2], kinds="byte-order mark"
        ),
    ],
    "7": [
        case(b"\xff\xfe" + "time_s,air_degc\n0,20.1\n10,20.2\n".encode("utf-16-le"), [20.1, 20.2], kinds="encoding"),
        case("time_s,air_degc\n0,20.1\n10,20.2\n".encode("utf-16-le"), [20.1, 20.2], kinds="encoding"),
        case(b"\xfe\xff" + "time_s,air_degc\n0,20.1\n10,20.2\n".encode("utf-16-be"), [20.1, 20.2], kinds="encoding"),
    ],
    "8": [case(b"time_s,Temp (\xb0C)\n0,20.1\n10,20.2\n", [20.1, 20.2], kinds="encoding", silent="unit")],
    "9": [case(b"time_s,Temp (\xc3\x82\xc2\xb0C)\n0,20.1\n10,20.2\n", [20.1, 20.2], silent="unit")],
    "10": [
        case(f"time_s,T1 [{sign}]\n0,20.1\n10,20.2\n", [20.1, 20.2], silent="unit")
        for sign in ("\u00baC", "\u02daC", "\u2103")
    ],
    "11": [
        case("time_s,air_degc\r0,20.1\r1,20.2\r", [20.1, 20.2], kinds="line ends"),
        case("time_s,air_degc\r\n0,20.1\r1,20.2\r\n2,20.3\n", [20.1, 20.2, 20.3]),
    ],
    "12": [case("elapsed_s,air_degc\n0,20.1\n60,21.0\n", [20.1, 21.0], seconds=[0, 60])],
    "13": [
        case("elapsed_min,air_degc\n0,20.1\n0.5,20.3\n1.0,20.4\n", seconds=[0, 30, 60]),
        case("time,air_degc\n0,20.1\n0.5,20.3\n", refused="unit of time"),
        case("time,air_degc\n0,20.1\n0.5,20.3\n", seconds=[0, 30], hints={"time_unit": "min"}),
    ],
    "14": [
        case("elapsed,air_degc\n1:05:20,199.1\n1:05:30,199.2\n25:05:30,199.3\n", seconds=[0, 10, 86410]),
    ],
    "15": [
        case(
            "elapsed,air_degc\n90:10,180.0\n90:20,180.1\n90:30,180.1\n", seconds=[5410, 5420, 5430], kinds="time unit"
        ),
        case("elapsed,air_degc\n0:00,180.0\n0:10,180.1\n0:20,180.1\n", refused="minutes:seconds"),
        case("elapsed,air_degc\n0:00,180.0\n0:10,180.1\n0:20,180.1\n", seconds=T, hints={"time_unit": "min"}),
        case("elapsed,air_degc\n0:00,180.0\n0:10,180.1\n", seconds=[0, 600], hints={"time_unit": "h"}),
    ],
    "16": [case(clock("23:59:50,200.1 / 00:00:00,200.2"), seconds=[0, 10], kinds="midnight")],
    "17": [
        case(
            "Datum;Zeit;Ofen [°C]\n24.11.2026;23:59:50;200,1\n25.11.2026;00:00:00;200,2\n",
            [200.1, 200.2],
            seconds=[0, 10],
        ),
        case(
            "24.11.2026;23:59:50;200,1\n25.11.2026;00:00:00;200,2\n", [200.1, 200.2], seconds=[0, 10], kinds="heading"
        ),
    ],
    "18": [
        case(clock("03/04/2026 10:00:00,200 / 05/06/2026 10:00:00,200"), refused="day_first"),
        case(clock("03/04/2026 23:59:50,200 / 03/05/2026 00:00:00,200"), seconds=[0, 10], hints={"day_first": False}),
        case(clock("03/04/2026 10:00:00,200 / 13/04/2026 10:00:00,200"), seconds=[0, 864000]),
        # The same day in both rows: nothing hangs on it.
        case(clock("03/04/2026 10:00:00,200 / 03/04/2026 10:00:10,200"), seconds=[0, 10]),
    ],
    "19": [case(clock("24.11.26 10:00:00,200 / 25.11.2026 10:00:00,200"), seconds=[0, 86400])],
    "20": [case(clock("12:05:00 AM,20.1 / 12:05:10 AM,20.2 / 1:05:00 AM,20.3"), seconds=[0, 10, 3600])],
    "21": [
        case(clock("11:55:00 vorm.,20.1 / 10:05:00 nachm.,20.1"), seconds=[0, 36600]),
        case(clock("11:55:00 a.\u00a0m.,20.1 / 10:05:00 p.\u00a0m.,20.1"), seconds=[0, 36600]),
    ],
    "22": [case(clock("10:05:00\u202fPM,20.1 / 10:05:10\u202fPM,20.1"), seconds=[0, 10])],
    "23": [
        case(clock("2026-11-24T23:59:50+01:00,200.1 / 2026-11-24T23:00:00Z,200.1"), seconds=[0, 10]),
    ],
    "24": [
        case(clock("2026-11-24T22:59:50Z,200.1 / 2026-11-24T23:00:00,200.1"), refused="offset from UTC"),
        case(clock("2026-11-24T22:59:50Z,200.1 / 2026-11-24T23:00:00Z,200.1"), seconds=[0, 10]),
    ],
    "25": [case("time,air_degc\n1795561190,200.1\n1795561200,200.2\n", kinds="time unit", says="since 1970")],
    "26": [case("time,air_degc\n1795561190000,200.1\n1795561200000,200.2\n", kinds="time unit", says="milliseconds")],
    "27": [case("time,air_degc\n46350.5,200.1\n46350.75,200.2\n", seconds=[0, 21600], kinds="time unit", says="days")],
    "28": [case("time,air_degc\n44888.5,200.1\n44888.75,200.2\n", seconds=[0, 21600], kinds="time unit", says="days")],
    "29": [
        case(clock("01:59:40,200.0 / 01:59:50,200.1 / 03:00:00,200.0 / 03:00:10,200.1"), refused="timezone="),
        case(
            clock("2026-03-29 01:59:40,200.0 / 2026-03-29 01:59:50,200.1 / 2026-03-29 03:00:00,200.0"),
            seconds=T,
            hints={"timezone": "Europe/Berlin"},
        ),
        # The last Sunday of March: known only when the zone is.
        case(
            clock("2026-03-29 01:59:40,200.0 / 2026-03-29 01:59:50,200.1 / 2026-03-29 03:00:00,200.0"),
            refused="daylight",
        ),
        # An elapsed count beside the clock confirms.
        case(
            "elapsed_s,clock,air_degc\n0,01:59:40,200.0\n10,01:59:50,200.1\n20,03:00:00,200.0\n",
            seconds=T,
            kinds="clock",
        ),
    ],
    "30": [
        case(
            clock("02:59:40,200.0 / 02:59:50,200.1 / 02:00:00,200.0 / 02:00:10,200.1"),
            seconds=[0, 10, 20, 30],
            kinds="daylight saving",
            silent="midnight,out of order",
        ),
        case(
            clock("2026-10-25 02:59:40,200.0 / 2026-10-25 02:59:50,200.1 / 2026-10-25 02:00:00,200.0"),
            seconds=T,
            hints={"timezone": "Europe/Berlin"},
        ),
    ],
    "31": [
        case(clock("10:00:01,199.8 / 10:00:01,199.9 / 10:00:02,200.0"), [199.85, 200.0], kinds="repeated time"),
    ],
    "32": [
        case(
            clock("10:00,199.8 / 10:00,199.9 / 10:01,200.0"),
            [199.8, 199.9, 200.0],
            seconds=[0, 30, 60],
            kinds="minute resolution",
        ),
    ],
    "33": [
        # Rows late by a few, and a ring buffer that begins in the middle.
        case(
            clock(
                "10:00:00,200.0 / 10:00:20,200.2 / 10:00:10,200.1 / 10:00:30,200.0 / 10:00:40,200.0 / 10:00:50,200.0"
            ),
            [200.0, 200.1, 200.2, 200.0, 200.0, 200.0],
            kinds="out of order",
        ),
        case(
            clock("10:00:20,200.2 / 10:00:30,200.3 / 10:00:00,200.0 / 10:00:10,200.1"),
            [200.0, 200.1, 200.2, 200.3],
            seconds=[0, 10, 20, 30],
            kinds="out of order",
        ),
    ],
    "34": [
        case(clock("10:02:00,200.2 / 10:01:00,200.1 / 10:00:00,200.0"), [200.0, 200.1, 200.2], kinds="newest first"),
    ],
    "35": [
        case(
            clock("10:04:50,200.0 / 10:05:00,200.1 / 08:05:10,200.2 / 08:05:20,200.3"),
            [200.0, 200.1, 200.2, 200.3],
            seconds=[0, 10, 20, 30],
            kinds="clock set",
        ),
    ],
    "36": [
        case(clock("10:00:00,200 / 10:01:00,200 / 10:02:00,200 / 10:22:00,201 / 10:23:00,201"), kinds="gap"),
    ],
    "37": [case(odd_reading(code), WITHOUT, kinds="fault code") for code in ("1372.0", "1370", "1371", "1373")],
    "38": [case(odd_reading(code), WITHOUT, kinds="fault code") for code in ("-200.0", "-270", "-273.15")]
    + [
        case(
            "elapsed_s,air_degf\n0,392\n10,392.2\n20,-328\n30,392\n40,392.1\n",
            [200.0, (392.2 - 32) / 1.8, None, 200.0, (392.1 - 32) / 1.8],
            kinds="fault code",
        ),
    ],
    "39": [
        case(odd_reading(code), WITHOUT, kinds="fault code")
        for code in ("9999", "999.9", "3276.7", "32767", "6553.5", "-32768", "-999", "-9999")
    ],
    "40": [
        case(ROOM + "10:01:00,85.0\n" + ROOM_AFTER, ROOM_WITHOUT, kinds="fault code", says="suspicion"),
        case(odd_reading("850"), WITHOUT, kinds="fault code"),
        # 85 can be true.
        case("elapsed_s,air_degc\n0,84.0\n10,84.5\n20,85.0\n30,85.5\n", [84.0, 84.5, 85.0, 85.5], silent="fault code"),
    ],
    "41": [
        case(odd_reading(word), WITHOUT, kinds=kind)
        for word, kind in (
            ("OPEN", "fault code"),
            ("----", "nan"),
            ("Err", "fault code"),
            ("OL", "fault code"),
            ("Over", "fault code"),
            ("UNDER", "fault code"),
            ("#N/A", "nan"),
            ("NaN", "nan"),
            ("null", "nan"),
            ("N/C", "fault code"),
            ("BURNOUT", "fault code"),
        )
    ],
    "42": [case(odd_reading(word), WITHOUT, kinds="fault code") for word in ("INF", "1.#INF", "+INF")],
    "43": [
        case(odd_reading("0.0"), WITHOUT, kinds="fault code"),
        # A cold room at the start is true.
        case("elapsed_s,air_degc\n0,0.0\n10,0.1\n20,0.3\n", [0.0, 0.1, 0.3], silent="fault code"),
    ],
    "44": [
        case(
            "clock,air_degc,part_degc\n10:00:00,200.0,200.0\n10:00:10,,200.1\n10:00:20,200.0,200.0\n",
            [200.0, None, 200.0],
            part=[200.0, 200.1, 200.0],
            kinds="nan",
        ),
    ],
    "45": [
        case(
            "Time,T1,T2\nhh:mm:ss,degC,degC\n10:00:00,20.1,20.2\n10:00:10,20.2,20.3\n",
            [20.1, 20.2],
            part=[20.2, 20.3],
            kinds="unit row",
            hints=TWO_CHANNELS,
        ),
    ],
    "46": [case("time_s,T1 [\u00b0F]\n0,392\n10,392\n", [200.0, 200.0], kinds="unit")],
    "47": [case("clock,air\n10:00:10,199.8 C\n10:00:20,199.9 C\n", [199.8, 199.9], kinds="unit", says="in its cells")],
    "48": [
        case(
            "clock,air\n10:00:00,199.8 C\n10:00:10,391.8 F\n",
            [199.8, (391.8 - 32) / 1.8],
            kinds="unit",
            says="change",
        ),
        case(
            "clock,air_degf\n10:00:00,391.8\n10:00:10,199.8 C\n10:00:20,391.8\n",
            [(391.8 - 32) / 1.8, 199.8, (391.8 - 32) / 1.8],
            kinds="unit",
        ),
    ],
    "49": [
        case("clock,air\n10:00:00,70\n10:10:00,250\n10:20:00,392\n10:30:00,392\n10:40:00,393\n", refused='unit="F"'),
        case(
            "clock,air\n10:00:00,68\n10:10:00,392\n10:20:00,392\n",
            [20.0, 200.0, 200.0],
            kinds="unit",
            hints={"unit": "F"},
        ),
    ],
    "50": [
        case("clock,air\n10:00:00,293.15\n10:10:00,473.15\n10:20:00,473.15\n", refused='"K"'),
        case("clock,air\n10:00:00,293.15\n10:10:00,473.15\n", [20.0, 200.0], hints={"unit": "K"}),
    ],
    "51": [
        case("clock,T1 x10 [\u00b0C]\n10:00:00,1998\n10:00:10,1999\n", [199.8, 199.9], kinds="unit"),
        case("clock,air\n10:00:00,204\n10:10:00,1998\n10:20:00,1999\n", refused="0.1C"),
        case("clock,air\n10:00:00,204\n10:10:00,1998\n", [20.4, 199.8], hints={"unit": "0.1C"}),
    ],
    "52": [case("clock,T1 [mV]\n10:00:10,8.138\n10:00:20,8.140\n", refused="cold junction")],
    "53": [
        case(
            "clock,air_degc,T2 [mA],valve %\n10:00:00,200.0,12.0,50.0\n10:00:10,200.1,12.1,51.0\n",
            [200.0, 200.1],
            part=[],
        ),
    ],
    "54": [
        case("clock,air_degc,SP,part_degc\n10:00:00,199.9,200.0,199.6\n10:00:10,200.1,200.0,199.7\n", [199.9, 200.1]),
        # Of two columns without a meaning the one that stands still is no sensor.
        case(
            "elapsed_s,T1,T2\n" + "".join(f"{10 * i},200.0,{199 + i % 3 / 10}\n" for i in range(30)),
            [199 + i % 3 / 10 for i in range(30)],
            kinds="channel",
            says="setpoint",
        ),
    ],
    "55": [case("clock,air_degc,output\n10:00:00,199.6,37\n10:00:10,199.7,38\n", [199.6, 199.7], part=[])],
    "56": [case("clock,air_degc,CJ degC\n10:00:00,199.6,27.4\n10:00:10,199.7,27.4\n", [199.6, 199.7], part=[])],
    "57": [
        case(
            "clock,air_degc,state,alarm,part_degc\n10:00:00,199.6,OK,1,199.9\n10:00:10,199.7,OK,1,200.0\n",
            [199.6, 199.7],
            part=[199.9, 200.0],
        ),
    ],
    "58": [case(odd_reading("*** DOOR OPEN ***"), [v for v in WITHOUT if v], kinds="event", says="DOOR OPEN")],
    "59": [
        case(f"{mark} operator: A\nelapsed_s,air_degc\n0,20\n{mark} door\n10,21\n", [20, 21])
        for mark in ("#", ";", "//", '"#')
    ],
    "60": [
        case("Serial No.: 1234\nModel: X\n\nTime,T1\n10:00:00,20.1\n10:00:10,20.2\n", [20.1, 20.2], seconds=T[:2]),
    ],
    "61": [case(HOT + "Max,205.3\nMin,20.1\nAverage,180.2\n", STEADY, kinds="footer")],
    "62": [case(HOT + "clock,air_degc\n" + AFTER, [v for v in WITHOUT if v], kinds="heading")],
    "63": [
        case(
            "elapsed_s,air_degc\n" + "".join(f"{t},200.{t % 7}\n" for t in [*range(0, 601, 10), *range(0, 61, 10)]),
            refused="restarted",
        ),
        case(
            "elapsed_s,air_degc\n" + "".join(f"{t},200.{t % 7}\n" for t in [*range(0, 601, 10), *range(0, 61, 10)]),
            seconds=[*range(0, 601, 10), *range(900, 961, 10)],
            hints={"restart_s": 300},
            kinds="restart,gap",
            silent="out of order",
        ),
    ],
    "64": [
        case(
            "Time,Temp,Temp\n10:00:00,20.1,20.2\n10:00:10,20.2,20.3\n",
            [20.1, 20.2],
            part=[20.2, 20.3],
            kinds="heading",
            hints={"channels": {"air": "Temp", "part_side": "Temp (2)"}},
        ),
    ],
    "65": [
        case(
            "0,20.1,20.2\n10,20.3,20.4\n20,20.5,20.6\n",
            [20.1, 20.3, 20.5],
            part=[20.2, 20.4, 20.6],
            seconds=T,
            hints={"channels": {"air": "channel 2", "part_side": "channel 3"}, "time_unit": "s"},
            kinds="heading",
        ),
    ],
    "66": [case("clock,air_degc\n10:00:00,200.1,\n10:00:10,200.2,\n", [200.1, 200.2], silent="nan")],
    "67": [
        case(
            "clock,air_degc,part_degc\n10:00:00,200.1,200.0\n10:00:10,200.1\n10:00:20,200.1,200.0\n",
            [200.1, 200.1, 200.1],
            part=[200.0, None, 200.0],
            kinds="nan",
        ),
    ],
    "68": [
        case(
            "clock,air_degc\n10:00:00,199.7\n10:00:10,199.7\n10:00:20,199",
            [199.7, 199.7],
            kinds="last line",
            says="dropped",
        ),
        case(
            "clock,air_degc\n10:00:00,199.7\n10:00:10,199.7\n10:00:20,199.8", [199.7, 199.7, 199.8], kinds="last line"
        ),
    ],
    "69": [case(HOT + "\n\n  \n", STEADY, silent="not data,footer")],
    "70": [case("clock , air_degc\n10:00:00 ,  200.1 \n10:00:10 , 200.2\n", [200.1, 200.2])],
    "71": [case('clock;air_degf\n10:00:00;"1,024.5"\n10:00:10;"1,024.5"\n', [(1024.5 - 32) / 1.8] * 2)],
    "72": [case("clock;air_degf\n10:00:00;1.024,5\n10:00:10;998,5\n", [(1024.5 - 32) / 1.8, (998.5 - 32) / 1.8])],
    "73": [
        case(f"clock;air_degf\n10:00:00;1{space}024,5\n10:00:10;998,5\n", [(1024.5 - 32) / 1.8, (998.5 - 32) / 1.8])
        for space in ("\u00a0", "\u202f")
    ],
    "74": [case("clock;air_degf\n10:00:00;1'024.5\n10:00:10;998.5\n", [(1024.5 - 32) / 1.8, (998.5 - 32) / 1.8])],
    "75": [
        case("clock,air_degc\n10:00:00,1.998E+02\n10:00:10,199.9\n", [199.8, 199.9]),
        case("clock;air_degc\n10:00:00;1,998E+02\n10:00:10;199,9\n", [199.8, 199.9]),
    ],
    "76": [case("clock,air_degc\n10:00:00,+199.8\n10:00:10,+199.9\n", [199.8, 199.9])],
    "77": [case(f"clock,air_degc\n10:00:00,{minus}5.2\n10:00:10,5.2\n", [-5.2, 5.2]) for minus in ("\u2212", "\u2013")],
    "78": [case('"clock","air_degc"\n"10:00:00","199.8"\n"10:00:10","199.9"\n', [199.8, 199.9])],
    "79": [case('clock,air_degc\n10:00:00,="199.8"\n10:00:10,="199.9"\n', [199.8, 199.9])],
    "80": [case("clock,air_degc\n'10:00:00,199.8\n'10:00:10,199.9\n", [199.8, 199.9], seconds=T[:2])],
    "81": [case("clock,air_degc\n10:00:00,\u0661\u0669\u0669.8\n10:00:10,199.9\n", [199.8, 199.9])],
    "82": [
        case(HOT + "10:01:00,199.8\0\0\0\n", [*STEADY, 199.8], kinds="padding"),
        case(HOT + "\0" * 60, STEADY),
    ],
    "83": [
        case(
            "elapsed_s,air_degc\n" + "".join(f"{t},200.0\n" for t in range(0, 10801, 60)),
            [200.0] * 181,
            kinds="stuck",
        ),
    ],
    "84": [
        case(
            "elapsed_s,air_degc,part_degc\n" + "".join(f"{60 * i},{22 + 9 * i},{22 - 9 * i}\n" for i in range(20)),
            [22 + 9 * i for i in range(20)],
            kinds="reversed",
            says="wrong way round",
        ),
    ],
    "85": [
        case(
            "elapsed_s,air_degc,part_degc\n0,239.9,200.0\n10,240.0,200.0\n20,240.1,200.1\n",
            [239.9, 240.0, 240.1],
            part=[200.0, 200.0, 200.1],
        ),
    ],
    "86": [case(odd_reading("812.0"), WITHOUT, kinds="spike")],
    "87": [
        case(
            "clock,channel,value\n10:00:00,T1,199.8\n10:00:00,T2,200.1\n10:00:10,T1,199.9\n10:00:10,T2,200.2\n",
            [199.8, 199.9],
            part=[200.1, 200.2],
            seconds=T[:2],
            kinds="long layout",
            hints=TWO_CHANNELS,
        ),
        case(
            "10:00:00,T1,199.8\n10:00:00,T2,200.1\n10:00:10,T1,199.9\n10:00:10,T2,200.2\n",
            [199.8, 199.9],
            part=[200.1, 200.2],
            seconds=T[:2],
            kinds="long layout",
            hints=TWO_CHANNELS,
        ),
    ],
    # Each sensor has its own file and its own clock: what the clocks say is kept in a note, and an offset can be given.
    "88": [
        case(
            "clock,T1_degc\n10:00:00,199.8\n10:00:10,199.9\n10:00:20,200.0\n",
            [199.8, 199.9, 200.0, None],
            part=[None, 200.1, 200.2, 200.3],
            seconds=[0, 10, 20, 34],
            kinds="clock offset",
            says="no offset was given; it runs from 14.0 to 34.0 s; 2 readings were put to rows at most 4.000 s away",
            beside=b"clock,T2_degc\n10:00:14,200.1\n10:00:24,200.2\n10:00:34,200.3\n",
        ),
        case(
            "clock,T1_degc\n10:00:00,199.8\n10:00:10,199.9\n10:00:20,200.0\n",
            [199.8, 199.9, 200.0],
            part=[200.1, 200.2, 200.3],
            seconds=T,
            kinds="clock offset",
            says="+34 s ahead, as given",
            beside=b"clock,T2_degc\n10:00:34,200.1\n10:00:44,200.2\n10:00:54,200.3\n",
            joined={"clock_ahead_s": {"part_side": 34}},
        ),
    ],
    "89": [
        case(
            clock("10:00:00,200.0 / 10:07:13,200.5 / 10:08:00,201.0 / 10:20:00,200.5"),
            [200.0, 200.5, 201.0, 200.5],
            seconds=[0, 433, 480, 1200],
            kinds="jitter",
            says="rows are not counted",
        ),
    ],
    "90": [
        case("clock,Avg,Min,Max\n10:00:00,199.6,198.0,201.0\n10:00:10,199.7,198.1,201.1\n", [199.6, 199.7], part=[])
    ],
    "91": [
        case(
            "clock,air_degc,part_degc\n10:00:00,199.8,OFF\n10:00:10,199.9,OFF\n",
            [199.8, 199.9],
            part=[],
            kinds="channel",
        )
    ],
    "92": [case("", refused="no data"), case("Time,T1\n", refused="no data rows")],
    "93": [
        case(
            "elapsed_s,air_degc\n" + "".join(f"{i},200.{i % 10}\n" for i in range(50_000)) + "x?!\n50000,200.0\n",
            kinds="not data",
        ),
        case(gzip.compress(HOT.encode(), mtime=0), STEADY, kinds="compressed"),
    ],
}


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for number, cases in CASES.items():
        for index, one in enumerate(cases):
            (folder / f"quirk_{number}_{index}").write_bytes(one.log[:4096])
