"""The same logs on the same rough bank in MuJoCo: rigid contact, one thread.

    mujoco_drops.py serve FOLDER      answers "HOW CASE FROM TO" on stdin, one JSON line each;
                                      HOW is rk4 or implicitfast
    mujoco_drops.py outcomes FOLDER   one CSV line a drop, with places at 4, 6 and 10 s
    mujoco_drops.py search FOLDER     what each integrator and step costs, and what it breaks

FOLDER is written by the example `engine_export` of the benches: `scene.json` (gravity, ground,
cases, initial states) and `ground.f32` (heights of the bank, normal to its plane). The frame is
the bank's: u down the fall line, v across, n out of the ground.

A drop ends at rest (neither end of the log moves 1 cm in 2 s), where it leaves the bank, or at the
horizon. Rigid contact here is MuJoCo's default: soft within millimetres, no rebound.
"""

import array
import json
import math
import statistics
import sys
import time

import mujoco
import numpy

# Chosen with `search` (its table is in tests/engines/README.md). RK4 keeps a spinning log's angular
# momentum at any step; 10 ms is the longest step that leaves the contacts as they are, because
# MuJoCo softens them where twice the step is more than their time constant of 20 ms. The others
# are for reading beside it: implicit ones are quicker and lose the spin, Euler blows up.
RK4 = {"integrator": "RK4", "step_s": 0.01, "cone": "PYRAMIDAL", "solver": "NEWTON", "geom": "cylinder"}
HOWS = {"rk4": RK4, "implicitfast": {**RK4, "integrator": "IMPLICITFAST"}}

# A drop that breaks is counted; it need not be told again on stderr.
mujoco.set_mju_user_warning(lambda text: None)

# Time between two looks at the log, s: after first touch, and before it.
LOOK_S, FLIGHT_LOOK_S = 0.1, 0.01
REST_M, REST_S = 0.01, 2.0
SAMPLE_S = (4.0, 6.0, 10.0)


class Scene:
    """What `engine_export` wrote."""

    def __init__(self, folder):
        with open(f"{folder}/scene.json") as file:
            self.__dict__.update(json.load(file))
        self.heights = array.array("f")
        with open(f"{folder}/ground.f32", "rb") as file:
            self.heights.frombytes(file.read())
        if sys.byteorder == "big":
            self.heights.byteswap()


def model_of(scene, case, how):
    """One log over the bank."""
    ground = scene.ground
    heights = numpy.frombuffer(scene.heights, dtype=numpy.float32).astype(numpy.float64)
    low, high = float(heights.min()), float(heights.max())
    half_u = 0.5 * ground["cell_u_m"] * (ground["nu"] - 1)
    half_v = 0.5 * ground["cell_v_m"] * (ground["nv"] - 1)
    radius, half = 0.5 * case["diameter_m"], 0.5 * case["length_m"]
    ends = half - radius if how["geom"] == "capsule" else half
    across, about = case["inertia_kg_m2"][0], case["inertia_kg_m2"][2]
    gravity = " ".join(repr(g) for g in scene.gravity_m_s2)
    model = mujoco.MjModel.from_xml_string(f"""
    <mujoco>
      <size memory="64M"/>
      <option timestep="{how['step_s']}" gravity="{gravity}" density="0" viscosity="0"/>
      <asset>
        <hfield name="bank" nrow="{ground['nv']}" ncol="{ground['nu']}"
                size="{half_u} {half_v} {max(high - low, 1e-3)} 1"/>
      </asset>
      <worldbody>
        <geom type="hfield" hfield="bank" pos="{ground['centre_u_m']} {ground['centre_v_m']} {low}"
              friction="{scene.friction} 0 0" condim="3"/>
        <body>
          <freejoint/>
          <inertial pos="0 0 0" mass="{case['mass_kg']}" diaginertia="{across} {across} {about}"/>
          <geom type="{how['geom']}" size="{radius} {ends}" friction="{scene.friction} 0 0" condim="3"/>
        </body>
      </worldbody>
    </mujoco>""")
    model.opt.integrator = getattr(mujoco.mjtIntegrator, f"mjINT_{how['integrator']}")
    model.opt.cone = getattr(mujoco.mjtCone, f"mjCONE_{how['cone']}")
    model.opt.solver = getattr(mujoco.mjtSolver, f"mjSOL_{how['solver']}")
    # A state that went bad must show, not start again.
    model.opt.disableflags |= mujoco.mjtDisableBit.mjDSBL_AUTORESET
    model.hfield_data[:] = (heights - low) / max(high - low, 1e-3)
    return model


class Bench:
    """A case ready to be dropped."""

    def __init__(self, scene, case, how):
        self.scene, self.case, self.how = scene, case, how
        self.model = model_of(scene, case, how)
        self.data = mujoco.MjData(self.model)
        ground = scene.ground
        self.half_u = 0.5 * ground["cell_u_m"] * (ground["nu"] - 1)
        self.half_v = 0.5 * ground["cell_v_m"] * (ground["nv"] - 1)

    def place(self, state):
        """Sets the log to [place 3, attitude wxyz 4, velocity 3, spin 3], all in the bank's frame."""
        model, data = self.model, self.data
        mujoco.mj_resetData(model, data)
        data.qpos[:] = state[:7]
        data.qvel[:3] = state[7:10]
        # MuJoCo wants the spin of a free body in the body's own frame.
        back, spin = numpy.zeros(4), numpy.zeros(3)
        mujoco.mju_negQuat(back, numpy.array(state[3:7]))
        mujoco.mju_rotVecQuat(spin, numpy.array(state[10:13]), back)
        data.qvel[3:] = spin

    def drop(self, index, horizon_s, look=None):
        """One drop: what became of it, and when. `look` is called at every look."""
        self.place(self.case["states"][index])
        model, data = self.model, self.data
        step_s, half = self.how["step_s"], 0.5 * self.case["length_m"]
        flight, rolling = (max(1, round(t / step_s)) for t in (FLIGHT_LOOK_S, LOOK_S))
        at, turn = data.qpos, data.xmat[1]
        centre_u, centre_v = self.scene.ground["centre_u_m"], self.scene.ground["centre_v_m"]
        while data.ncon == 0 and data.time < horizon_s:
            mujoco.mj_step(model, data, flight)
        touched_s, moved_s, looks, touching = data.time, data.time, 0, 0
        old = (math.inf,) * 6
        while True:
            mujoco.mj_step(model, data, rolling)
            now_s = data.time
            looks += 1
            touching += data.ncon > 0
            if look:
                look(data)
            u, v, n = at[0].item(), at[1].item(), at[2].item()
            if not (abs(u - centre_u) < self.half_u and abs(v - centre_v) < self.half_v):
                ending = "left" if math.isfinite(u) else "broken"
                break
            a, b, c = half * turn[2].item(), half * turn[5].item(), half * turn[8].item()
            new = (u - a, v - b, n - c, u + a, v + b, n + c)
            if max(abs(p - q) for p, q in zip(new, old)) > REST_M:
                old, moved_s = new, now_s
            elif now_s - moved_s >= REST_S:
                ending = "rest"
                break
            if now_s >= horizon_s:
                ending = "time"
                break
        return {
            "ending": ending, "touched_s": touched_s, "moved_s": moved_s, "end_s": data.time,
            "touching": touching / looks,
        }


def serve(scene):
    """Answers on stdin: processor time of this thread for some drops of a case."""
    benches = {name: [Bench(scene, case, how) for case in scene.cases] for name, how in HOWS.items()}
    say({"engine": f"MuJoCo {mujoco.__version__}", "how": HOWS})
    for line in sys.stdin:
        how, *numbers = line.split()
        case, first, last = (int(word) for word in numbers)
        begun = time.thread_time()
        drops = [benches[how][case].drop(i, scene.horizon_s) for i in range(first, last)]
        cpu_s = time.thread_time() - begun
        say({
            "cpu_s": cpu_s,
            "lasted_s": sum(d["end_s"] - d["touched_s"] for d in drops),
            "touching_s": sum(d["touching"] * (d["end_s"] - d["touched_s"]) for d in drops),
            **{e: sum(d["ending"] == e for d in drops) for e in ("rest", "left", "time", "broken")},
        })


def outcomes(scene):
    """Every drop of every case, with where it is and how fast at some times after its launch."""
    at = [f"{name}_{t:g}s" for t in SAMPLE_S for name in ("u_m", "v_m", "speed_m_s")]
    print(",".join(["case", "drop", "ending", "touched_s", "moved_s", "end_s", *at]))
    for case in scene.cases:
        bench = Bench(scene, case, RK4)
        for index in range(len(case["states"])):
            seen = {}

            def look(data):
                for t in SAMPLE_S:
                    if t not in seen and data.time >= t:
                        speed = math.hypot(*data.qvel[:3])
                        seen[t] = (data.qpos[0], data.qpos[1], speed)

            drop = bench.drop(index, scene.horizon_s, look)
            # After its end a drop stays where it ended.
            speed = math.hypot(*bench.data.qvel[:3])
            last = (bench.data.qpos[0], bench.data.qpos[1], 0.0 if drop["ending"] == "rest" else speed)
            places = [f"{x:.4f}" for t in SAMPLE_S for x in seen.get(t, last)]
            times = [f"{drop[k]:.3f}" for k in ("touched_s", "moved_s", "end_s")]
            print(",".join([case["name"], str(index), drop["ending"], *times, *places]))


def spin_kept(bench):
    """Share of the angular momentum left after 3 s of free flight at 20 rad/s about the stem and
    3 across it: 1 for an integrator that turns a log as it should."""
    model, data = bench.model, bench.data
    contact = int(mujoco.mjtDisableBit.mjDSBL_CONTACT)
    model.opt.disableflags |= contact
    bench.place([0.0, 0.0, 50.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 3.0, 0.0, 20.0])
    inertia = numpy.array(bench.case["inertia_kg_m2"])
    before = numpy.linalg.norm(inertia * data.qvel[3:])
    mujoco.mj_step(model, data, round(3.0 / bench.how["step_s"]))
    model.opt.disableflags &= ~contact
    return numpy.linalg.norm(inertia * data.qvel[3:]) / before


def judge(scene, how, drops):
    """What a setting costs and what it breaks."""
    cpu_s = lasted_s = 0.0
    worst_gain, worst_depth, broken, shares, speeds, spins = 0.0, 0.0, 0, [], [], []
    gravity = numpy.array(scene.gravity_m_s2)
    for case in scene.cases:
        bench = Bench(scene, case, how)
        count = min(drops, len(case["states"]))
        begun = time.thread_time()
        timed = [bench.drop(i, scene.horizon_s) for i in range(count)]
        cpu_s += time.thread_time() - begun
        lasted_s += sum(d["end_s"] - d["touched_s"] for d in timed)
        broken += sum(d["ending"] == "broken" for d in timed)
        shares.append(sum(d["ending"] == "left" for d in timed) / count)
        reached = [d["end_s"] - d["touched_s"] for d in timed if d["ending"] == "left"]
        speeds.append(statistics.median(reached) if reached else math.nan)
        spins.append(spin_kept(bench))
        # Again, watched: that costs time, so it isn't timed.
        inertia = numpy.array(case["inertia_kg_m2"])
        fall_j = case["mass_kg"] * 9.81 * 8.0
        for i in range(count):
            last = [math.inf]

            def look(data):
                nonlocal worst_gain, worst_depth
                v, w = data.qvel[:3], data.qvel[3:]
                energy = 0.5 * case["mass_kg"] * (v @ v) + 0.5 * (inertia * w) @ w
                energy -= case["mass_kg"] * (gravity @ data.qpos[:3])
                # Per the energy of the fall or the motion, whichever is more.
                gain = (energy - last[0]) / max(fall_j, 0.5 * case["mass_kg"] * (v @ v))
                last[0] = energy
                worst_gain = max(worst_gain, gain if math.isfinite(gain) else 0.0)
                for k in range(data.ncon):
                    worst_depth = max(worst_depth, -float(data.contact[k].dist))

            bench.drop(i, scene.horizon_s, look)
    return cpu_s, lasted_s, worst_gain, worst_depth, broken, shares, speeds, min(spins)


def search(scene, drops):
    """A table of settings."""
    print("integrator    step_ms cone       solver geom     | sim s/CPU s    gain depth_m broken   spin | left                | s to leave")
    base = {"cone": "PYRAMIDAL", "solver": "NEWTON", "geom": "cylinder"}
    hows = [
        {**base, "integrator": name, "step_s": step}
        for name in ("RK4", "IMPLICIT", "IMPLICITFAST", "DISCRETE", "EULER")
        for step in (0.001, 0.002, 0.005, 0.01, 0.02)
    ]
    hows += [{**RK4, **more} for more in (
        {"cone": "ELLIPTIC"}, {"solver": "CG"}, {"solver": "PGS"}, {"geom": "capsule"},
    )]
    for how in hows:
        cpu_s, lasted_s, gain, depth, broken, shares, speeds, spin = judge(scene, how, drops)
        print(
            f"{how['integrator']:<13} {how['step_s'] * 1e3:<7g} {how['cone']:<10} {how['solver']:<6} {how['geom']:<8} "
            f"| {lasted_s / cpu_s:10.0f} {gain:7.4f} {depth:7.3f} {broken:6d} {spin:6.3f} | "
            + " ".join(f"{s:.2f}" for s in shares) + " | " + " ".join(f"{s:5.1f}" for s in speeds),
            flush=True,
        )


def say(answer):
    print(json.dumps(answer), flush=True)


def main():
    if len(sys.argv) < 3 or sys.argv[1] not in ("serve", "outcomes", "search"):
        sys.exit(__doc__)
    scene = Scene(sys.argv[2])
    if sys.argv[1] == "search":
        search(scene, int(sys.argv[3]) if len(sys.argv) > 3 else 12)
    else:
        {"serve": serve, "outcomes": outcomes}[sys.argv[1]](scene)


if __name__ == "__main__":
    main()
