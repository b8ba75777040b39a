"""Logs on one rigid hillside in MuJoCo, frozen for the program's tests: hillside.csv.

    hillside.py check    drops them again and compares with hillside.csv; exit 1 where it differs
    hillside.py write    makes hillside.csv anew, initial states and all
    hillside.py spread   how far MuJoCo is from itself with other settings

hillside.json holds the ground and the logs. States are drawn here, by Python's own generator, so
that what either side is handed comes from neither. The frame of both files is the world's, x down
the bank, z up; MuJoCo is run in the bank's own: u down the fall line, v across, n out of it.
"""

import csv
import io
import json
import math
import multiprocessing
import os
import random
import sys

import mujoco
import numpy

HERE = os.path.dirname(os.path.abspath(__file__))
with open(f"{HERE}/hillside.json") as file:
    SCENE = json.load(file)
SLOPE = math.radians(SCENE["slope_deg"])
TURN = numpy.array([[math.cos(SLOPE), 0, -math.sin(SLOPE)], [0, 1, 0], [math.sin(SLOPE), 0, math.cos(SLOPE)]])
TURN_WXYZ = numpy.array([math.cos(SLOPE / 2), 0, -math.sin(SLOPE / 2), 0])
START_X_M, CELL_M = -150.0, 0.2
# m and m/s by which a drop of the first second may differ from the frozen one; as a share, means later.
SAME, SAME_MEAN = 0.005, 0.03
STATE = ["x_m", "y_m", "z_m", "qw", "qx", "qy", "qz", "vx_m_s", "vy_m_s", "vz_m_s", "wx_rad_s", "wy_rad_s", "wz_rad_s"]
SEEN = ["x_m", "y_m", "speed_m_s", "spin_rad_s"]

# RK4 keeps a log's spin (README.md). 1 ms and a time constant of 4 ms let a hard touch sink by
# centimetres at most. A damping ratio of 3 leaves a rebound of 0.02, where MuJoCo's usual 1 gives
# back 0.135 (e⁻²: where the damped spring would begin to pull, it lets go). The elliptic cone is
# Coulomb's; the pyramid rubs with 0.7 of it aslant.
USUAL = {"step_s": 0.001, "integrator": "RK4", "cone": "ELLIPTIC", "solref": "0.004 3", "impratio": 10.0}
OTHERS = {
    "step 0.5 ms": {"step_s": 0.0005},
    "time constant 2 ms": {"step_s": 0.0005, "solref": "0.002 3"},
    "time constant 8 ms": {"solref": "0.008 3"},
    "damping ratio 5": {"solref": "0.004 5"},
    "damping ratio 1": {"solref": "0.004 1"},
    "all as MuJoCo has it, 2 ms": {"step_s": 0.002, "solref": "0.02 1", "cone": "PYRAMIDAL", "impratio": 1.0},
    "pyramidal cone": {"cone": "PYRAMIDAL"},
    "impratio 1": {"impratio": 1.0},
}
mujoco.set_mju_user_warning(lambda text: None)


def bump(x, y):
    """Height of the bumps over the plane of the bank, m."""
    return sum(
        a * numpy.sin(2 * math.pi * (x * math.cos(d) + y * math.sin(d)) / wave + p)
        for a, wave, d, p in SCENE["bumps"]
    )


def over_plane(u, v):
    """Height of the bumpy ground along the bank's normal over a point of the bank's plane, m."""
    sine, cosine = math.sin(SLOPE), math.cos(SLOPE)
    # A bump b over the plane is b·cos away from it and b·sin uphill of the normal's foot.
    b = bump(u * cosine, v)
    for _ in range(60):
        b = bump(u * cosine + b * sine * cosine, v)
    return b * cosine


def turned(turns):
    """Quaternion of turns by angles about axes (0 to 2), each in the frame the last ones left."""
    total = numpy.array([1.0, 0.0, 0.0, 0.0])
    for axis, angle in turns:
        one = numpy.zeros(4)
        one[0], one[1 + axis] = math.cos(0.5 * angle), math.sin(0.5 * angle)
        mujoco.mju_mulQuat(total, total.copy(), one)
    return [float(x) for x in total]


def drawn():
    """Initial states: ground, number, log, state."""
    rand = random.Random(4)
    for ground in SCENE["grounds"]:
        for number in range(ground["drops"]):
            log = SCENE["logs"][number % len(SCENE["logs"])]
            half, radius = 0.5 * log["length_m"], 0.5 * log["diameter_m"]
            off = math.radians(ground["off_across_deg"])
            heading = rand.choice([-0.5, 0.5]) * math.pi + rand.uniform(-off, off)
            roll = rand.uniform(-math.pi, math.pi)
            most = math.sin(math.radians(ground["tilt_deg"]))
            tilt = math.asin(rand.uniform(-most, most))
            quat = turned([(1, SLOPE), (2, heading), (1, 0.5 * math.pi - tilt), (2, roll)])
            velocity = [1.0 + 2.0 * rand.random(), rand.uniform(-0.5, 0.5), rand.uniform(-4.0, 0.0)]
            fast = min(1.0, ground["tilt_deg"] / 30.0)
            spin = [fast * rand.uniform(-1.0, 1.0) for _ in range(3)]
            # All of it is above the ground, and touches within the first second.
            reach = half * abs(math.sin(tilt)) + radius * math.cos(tilt)
            y = rand.uniform(-20.0, 20.0)
            top = bump(START_X_M, y) + 0.2 if ground["bumps"] else 0.0
            clear = reach + top * math.cos(SLOPE) + rand.uniform(0.3, 0.8)
            place = [START_X_M, y, -START_X_M * math.tan(SLOPE) + clear / math.cos(SLOPE)]
            yield ground["name"], number, log, [float(f"{x:.6f}") for x in place + quat + velocity + spin]


class Bench:
    """One log over one ground."""

    def __init__(self, bumpy, log, how):
        length, diameter = log["length_m"], log["diameter_m"]
        radius = 0.5 * diameter
        self.mass = SCENE["density_kg_m3"] * math.pi * radius * radius * length
        across = self.mass * (3 * radius * radius + length * length) / 12
        g = SCENE["gravity_m_s2"]
        contact = f'friction="{SCENE["friction"]} 0 0" condim="3" solref="{how["solref"]}" solimp="0.95 0.99 0.001 0.5 2"'
        asset, ground = "", f'<geom type="plane" size="0 0 1" {contact}/>'
        if bumpy:
            u = numpy.arange(-200.0, 120.0, CELL_M)
            v = numpy.arange(-100.0, 100.0, CELL_M)
            heights = over_plane(u[None, :], v[:, None])
            low, high = float(heights.min()), float(heights.max())
            half = 0.5 * (u[-1] - u[0]), 0.5 * (v[-1] - v[0])
            asset = f'<asset><hfield name="bank" nrow="{len(v)}" ncol="{len(u)}" size="{half[0]} {half[1]} {high - low} 1"/></asset>'
            ground = f'<geom type="hfield" hfield="bank" pos="{u[0] + half[0]} {v[0] + half[1]} {low}" {contact}/>'
        self.model = mujoco.MjModel.from_xml_string(f"""
        <mujoco>
          <size memory="64M"/>
          <option timestep="{how['step_s']}" gravity="{g * math.sin(SLOPE)!r} 0 {-g * math.cos(SLOPE)!r}"
                  density="0" viscosity="0" impratio="{how['impratio']}"/>
          {asset}
          <worldbody>
            {ground}
            <body>
              <freejoint/>
              <inertial pos="0 0 0" mass="{self.mass}" diaginertia="{across} {across} {0.5 * self.mass * radius * radius}"/>
              <geom type="cylinder" size="{radius} {0.5 * length}" {contact}/>
            </body>
          </worldbody>
        </mujoco>""")
        self.model.opt.integrator = getattr(mujoco.mjtIntegrator, f"mjINT_{how['integrator']}")
        self.model.opt.cone = getattr(mujoco.mjtCone, f"mjCONE_{how['cone']}")
        self.model.opt.disableflags |= mujoco.mjtDisableBit.mjDSBL_AUTORESET
        if bumpy:
            self.model.hfield_data[:] = ((heights - low) / (high - low)).ravel()
        self.data = mujoco.MjData(self.model)

    def drop(self, state):
        """Time of first touch, then place, speed and spin at each of SCENE["sample_s"]."""
        model, data = self.model, self.data
        mujoco.mj_resetData(model, data)
        data.qpos[:3] = TURN @ state[:3]
        quat = numpy.array(state[3:7]) / numpy.linalg.norm(state[3:7])
        mujoco.mju_mulQuat(data.qpos[3:7], TURN_WXYZ, quat)
        data.qvel[:3] = TURN @ state[7:10]
        # MuJoCo wants the spin of a free body in the body's own frame.
        mujoco.mju_negQuat(quat, quat)
        mujoco.mju_rotVecQuat(data.qvel[3:], numpy.array(state[10:13]), quat)
        while data.ncon == 0 and data.time < SCENE["sample_s"][0]:
            mujoco.mj_step(model, data)
        seen = [data.time]
        for at_s in SCENE["sample_s"]:
            mujoco.mj_step(model, data, round((at_s - data.time) / model.opt.timestep))
            place = TURN.T @ data.qpos[:3]
            seen += [place[0], place[1], math.hypot(*data.qvel[:3]), math.hypot(*data.qvel[3:])]
        return seen


BENCHES = {}


def one(task):
    """What MuJoCo makes of one drop."""
    ground, _, log, state, how = task
    key = (ground, *log.values(), *how.values())
    if key not in BENCHES:
        bumpy = next(g["bumps"] for g in SCENE["grounds"] if g["name"] == ground)
        BENCHES[key] = Bench(bumpy, log, how)
    return BENCHES[key].drop(state)


def dropped(drops, how):
    """What it makes of many: ground, number, log, state, what was seen."""
    drops = list(drops)
    with multiprocessing.Pool() as pool:
        seen = pool.map(one, [(*drop, how) for drop in drops], chunksize=5)
    return [(*drop, rows) for drop, rows in zip(drops, seen)]


def columns():
    at = [f"{name}@{t:g}s" for t in SCENE["sample_s"] for name in SEEN]
    return ["ground", "drop", "length_m", "diameter_m", *STATE, "touched_s", *at]


def text(rows):
    out = io.StringIO()
    out.write(f"# Made by tests/engines/run write: MuJoCo {mujoco.__version__}, hillside.json, {json.dumps(USUAL)}\n")
    out.write("# Initial state (attitude and spin in the world's frame), then first touch, then place, speed and spin.\n")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(columns())
    for ground, number, log, state, seen in rows:
        cells = [f"{x:.3f}" for x in seen]
        table.writerow([ground, number, log["length_m"], log["diameter_m"], *map(repr, state), *cells])
    return out.getvalue()


def frozen():
    """The rows of hillside.csv as `dropped` gives them."""
    with open(f"{HERE}/hillside.csv") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        for row in rows:
            log = {k: float(row[k]) for k in ("length_m", "diameter_m")}
            state = [float(row[k]) for k in STATE]
            yield row["ground"], int(row["drop"]), log, state, [float(row[k]) for k in columns()[4 + len(STATE):]]


def gaps(ours, theirs):
    """Differences of place (m) and speed (m/s) at each time."""
    each = len(SEEN)
    for k in range(len(SCENE["sample_s"])):
        a, b = (row[1 + each * k : 1 + each * (k + 1)] for row in (ours, theirs))
        yield math.hypot(a[0] - b[0], a[1] - b[1]), abs(a[2] - b[2])


def spread():
    """Settings against the usual: gaps drop by drop on the plane, medians on the bumps."""
    usual = dropped(drawn(), USUAL)
    print("median and 95th percentile of the gap in place (m) and speed (m/s) at", SCENE["sample_s"], "s")
    print("bumpy: mean way down minus the usual's, its standard error")
    for name, other in OTHERS.items():
        rows = dropped(drawn(), {**USUAL, **other})
        for ground in SCENE["grounds"]:
            pairs = [(a[4], b[4]) for a, b in zip(usual, rows) if a[0] == ground["name"]]
            cells = []
            for k in range(len(SCENE["sample_s"])):
                both = [list(gaps(a, b))[k] for a, b in pairs]
                cells += ["/".join(f"{q:.3f}" for i in (0, 1) for q in numpy.quantile([g[i] for g in both], [0.5, 0.95]))]
                way = [b[1 + 4 * k] - a[1 + 4 * k] for a, b in pairs]
                fast = [b[3 + 4 * k] - a[3 + 4 * k] for a, b in pairs]
                n = math.sqrt(len(way))
                cells += [f"{numpy.mean(way):+.2f}±{numpy.std(way) / n:.2f} {numpy.mean(fast):+.2f}±{numpy.std(fast) / n:.2f}"]
            print(f"{name:<28} {ground['name']:<6}", " | ".join(cells), flush=True)


def check():
    """Compares with the frozen file: the first second drop by drop; later, where rounding on another
    processor has grown into another path, means over the drops of a ground."""
    old = list(frozen())
    if [row[:4] for row in old] != list(drawn()):
        return "the initial states in hillside.csv are not those that are drawn now"
    new = dropped([row[:4] for row in old], USUAL)
    wrong = []
    for ground in SCENE["grounds"]:
        pairs = [(a[4], b[4]) for a, b in zip(old, new) if a[0] == ground["name"]]
        for k, at_s in enumerate(SCENE["sample_s"]):
            both = [list(gaps(a, b))[k] for a, b in pairs]
            places, speeds = (max(g[i] for g in both) for i in (0, 1))
            way, speed = (
                abs(sum(b[c] - a[c] for a, b in pairs)) / sum(abs(b[c] - start) for _, b in pairs)
                for c, start in ((1 + 4 * k, START_X_M), (3 + 4 * k, 0.0))
            )
            print(f"{ground['name']}, {len(pairs)} drops, {at_s:g} s: furthest {places:.4f} m and {speeds:.4f} m/s,"
                  f" means {100 * way:.3f} % of the way and {100 * speed:.3f} % of the speed from the frozen ones")
            if at_s <= 1.0 and max(places, speeds) > SAME or max(way, speed) > SAME_MEAN:
                wrong.append(f"{ground['name']} at {at_s:g} s")
    return "not what hillside.csv holds: " + ", ".join(wrong) if wrong else None


def main():
    if sys.argv[1:] == ["write"]:
        content = text(dropped(drawn(), USUAL))
        with open(f"{HERE}/hillside.csv", "w") as file:
            file.write(content)
    elif sys.argv[1:] == ["spread"]:
        spread()
    elif sys.argv[1:] == ["check"]:
        sys.exit(check())
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
