//! Bad scenes: each is refused with file, line, column, field, what was read and what is allowed.

use tumblewood::scene::{self, Problem};

/// One slip made in a good scene.
struct Bad {
    /// What the slip is.
    name: &'static str,
    /// Text of the starter scene that is replaced; empty: the whole scene.
    find: &'static str,
    /// What stands there instead.
    put: &'static str,
    /// Path of the field in the refusal.
    path: &'static str,
    /// The text at the line and column of the refusal begins so.
    at: &'static str,
    /// In what is wrong.
    what: &'static str,
    /// In what is allowed.
    allowed: &'static str,
}

#[rustfmt::skip]
const BAD: &[Bad] = &[
    // The text itself.
    Bad { name: "empty file", find: "", put: "", path: "whole scene", at: "", what: "", allowed: "RON" },
    Bad { name: "not a scene", find: "", put: "hello", path: "whole scene", at: "", what: "", allowed: "RON" },
    Bad { name: "a number", find: "", put: "42", path: "whole scene", at: "", what: "", allowed: "RON" },
    Bad { name: "never closed", find: "", put: "(version: 1, name: \"x\", units: Metric,", path: "whole scene", at: "", what: "ends too early", allowed: "closing bracket" },
    Bad { name: "open string", find: "", put: "(version: 1, name: \"x", path: "name", at: "", what: "", allowed: "RON" },
    Bad { name: "something after the end", find: "\n)\n", put: "\n)\n(x: 1)\n", path: "whole scene", at: "(x: 1)", what: "follows the end", allowed: "one scene" },
    Bad { name: "deep nesting", find: "tree: (", put: "tree: ((((((((((", path: "tree", at: "", what: "", allowed: "" },
    // Version and top level.
    Bad { name: "later version", find: "version: 1", put: "version: 2", path: "version", at: "2", what: "doesn't read", allowed: "version: 1" },
    Bad { name: "version in words", find: "version: 1", put: "version: \"one\"", path: "version", at: "\"one\"", what: "doesn't read", allowed: "version: 1" },
    Bad { name: "no version", find: "version: 1,", put: "", path: "version", at: "name", what: "must come first", allowed: "version: 1" },
    Bad { name: "unknown field", find: "units: Imperial", put: "colour: Red, units: Imperial", path: "colour", at: "colour", what: "unknown field", allowed: "units" },
    Bad { name: "missing field", find: "units: Imperial,", put: "", path: "units", at: "(", what: "\"units\" is missing", allowed: "units:" },
    Bad { name: "field twice", find: "units: Imperial", put: "units: Imperial, units: Metric", path: "units", at: "units: Metric", what: "there twice", allowed: "once" },
    Bad { name: "unknown word", find: "units: Imperial", put: "units: Furlongs", path: "units", at: "Furlongs", what: "unknown word", allowed: "Metric, Imperial" },
    Bad { name: "word in quotes", find: "units: Imperial", put: "units: \"Imperial\"", path: "units", at: "\"Imperial\"", what: "no word", allowed: "words" },
    Bad { name: "no name", find: "name: \"Hemlock above the footbridge\"", put: "name: \"\"", path: "name", at: "\"\"", what: "no name", allowed: "1 to 200" },
    Bad { name: "truth value in words", find: "invented: true", put: "invented: yes", path: "invented", at: "yes", what: "", allowed: "true" },
    // Quantities.
    Bad { name: "missing unit", find: "dbh: \"19 in\"", put: "dbh: \"19\"", path: "tree.dbh", at: "\"19\"", what: "needs a unit", allowed: "m, cm, mm, km, ft, in, yd" },
    Bad { name: "bare number", find: "dbh: \"19 in\"", put: "dbh: 19", path: "tree.dbh", at: "19", what: "bare number", allowed: "ft, in" },
    Bad { name: "wrong unit", find: "dbh: \"19 in\"", put: "dbh: \"19 kg\"", path: "tree.dbh", at: "\"19 kg\"", what: "\"kg\" is no unit of a length", allowed: "ft, in" },
    Bad { name: "not a number", find: "dbh: \"19 in\"", put: "dbh: NaN", path: "tree.dbh", at: "NaN", what: "bare number", allowed: "ft, in" },
    Bad { name: "not a number with a unit", find: "dbh: \"19 in\"", put: "dbh: \"NaN in\"", path: "tree.dbh", at: "\"NaN in\"", what: "begins with a number", allowed: "ft, in" },
    Bad { name: "infinite", find: "dbh: \"19 in\"", put: "dbh: inf", path: "tree.dbh", at: "inf", what: "bare number", allowed: "ft, in" },
    Bad { name: "too large to hold", find: "dbh: \"19 in\"", put: "dbh: \"999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999999 km\"", path: "tree.dbh", at: "\"9999", what: "too large", allowed: "ft, in" },
    Bad { name: "negative", find: "dbh: \"19 in\"", put: "dbh: \"-19 in\"", path: "tree.dbh", at: "\"-19 in\"", what: "can't be negative", allowed: "to" },
    Bad { name: "zero", find: "dbh: \"19 in\"", put: "dbh: \"0 in\"", path: "tree.dbh", at: "\"0 in\"", what: "can't be zero", allowed: "to" },
    Bad { name: "feet for inches", find: "dbh: \"19 in\"", put: "dbh: \"19 yd\"", path: "tree.dbh", at: "\"19 yd\"", what: "beyond what is plausible", allowed: "to" },
    Bad { name: "units out of order", find: "dbh: \"19 in\"", put: "dbh: \"3 in 1 ft\"", path: "tree.dbh", at: "\"3 in 1 ft\"", what: "does not follow a larger unit", allowed: "ft, in" },
    Bad { name: "an empty text", find: "dbh: \"19 in\"", put: "dbh: \"\"", path: "tree.dbh", at: "\"\"", what: "a length was expected", allowed: "ft, in" },
    Bad { name: "doubt unknown", find: "Eyed(\"71 ft\")", put: "Guessed(\"71 ft\")", path: "tree.height", at: "Guessed", what: "unknown word \"Guessed\"", allowed: "Paced" },
    Bad { name: "doubt without unit", find: "Eyed(\"71 ft\")", put: "Eyed(71)", path: "tree.height", at: "Eyed(71)", what: "bare number", allowed: "ft, in" },
    Bad { name: "limits backwards", find: "Eyed(\"71 ft\")", put: "Between(\"80 ft\", \"60 ft\")", path: "tree.height", at: "Between", what: "run backwards", allowed: "smaller one first" },
    Bad { name: "not known where it must be", find: "(\"16 ft\", \"16 in\")", put: "(\"16 ft\", DontKnow)", path: "tree.diameters[0][1]", at: "DontKnow", what: "must be known", allowed: "Between" },
    Bad { name: "slope as an azimuth", find: "toward: Eyed(\"160 deg\")", put: "toward: Eyed(\"16 %\")", path: "tree.lean.toward", at: "Eyed(\"16 %\")", what: "no unit of an azimuth", allowed: "0 deg to 360 deg" },
    Bad { name: "azimuth past the circle", find: "toward: Eyed(\"160 deg\")", put: "toward: Eyed(\"460 deg\")", path: "tree.lean.toward", at: "Eyed(\"460 deg\")", what: "out of the limits", allowed: "0 deg to 360 deg" },
    Bad { name: "share over the whole", find: "depth: \"25 %\", hinge: \"1 1/2 in\"", put: "depth: \"125 %\", hinge: \"1 1/2 in\"", path: "cuts[2].release.depth", at: "\"125 %\"", what: "out of the limits", allowed: "0 % to 100 %" },
    Bad { name: "force in kilograms", find: "(force: Eyed(\"60 lbf\")", put: "(force: \"60 kg\"", path: "cuts[1].release.push.force", at: "\"60 kg\"", what: "no unit of a force", allowed: "N, kN, lbf" },
    // Site.
    Bad { name: "transect of one leg", find: "(\"20 ft\", \"20 deg\"), (\"40 ft\", \"12 deg\")", put: "(\"20 ft\", \"20 deg\")", path: "site.terrain.lines[1].legs", at: "[(\"20 ft\"", what: "transect of 1 leg", allowed: "at least two legs" },
    Bad { name: "one line only", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (terrain: Transects(lines: [(id: \"a\", azimuth: \"10 deg\", legs: [(\"5 m\", \"3 deg\"), (\"5 m\", \"3 deg\")]), (id: \"b\", azimuth: \"190 deg\", legs: [(\"5 m\", \"3 deg\"), (\"5 m\", \"3 deg\")])]), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.lines", at: "[(id", what: "make no surface", allowed: "at least two transects" },
    Bad { name: "leg of no length", find: "(\"15 ft\", \"-24 deg\")", put: "(\"0 ft\", \"-24 deg\")", path: "site.terrain.lines[0].legs[0][0]", at: "\"0 ft\"", what: "can't be zero", allowed: "to" },
    Bad { name: "leg without slope", find: "(\"15 ft\", \"-24 deg\")", put: "(\"15 ft\",)", path: "site.terrain.lines[0].legs[0]", at: "(\"15 ft\",)", what: "", allowed: "" },
    Bad { name: "overhanging leg", find: "(\"15 ft\", \"-24 deg\")", put: "(\"15 ft\", \"-88 deg\")", path: "site.terrain.lines[0].legs[0][1]", at: "\"-88 deg\"", what: "beyond what is plausible", allowed: "-80 deg to 80 deg" },
    Bad { name: "unknown station", find: "from: \"down:3\", azimuth: \"70 deg\", legs", put: "from: \"dwn:3\", azimuth: \"70 deg\", legs", path: "site.terrain.lines[4].from", at: "\"dwn:3\"", what: "no such station", allowed: "down, up, east, west" },
    Bad { name: "leg that is not there", find: "from: \"down:3\", azimuth: \"70 deg\", legs", put: "from: \"down:9\", azimuth: \"70 deg\", legs", path: "site.terrain.lines[4].from", at: "\"down:9\"", what: "no such leg", allowed: "down:1 to down:5" },
    Bad { name: "closing on no station", find: "(id: \"up\", azimuth: \"340 deg\", legs", put: "(id: \"up\", closes_on: \"down:7\", azimuth: \"340 deg\", legs", path: "site.terrain.lines[1].closes_on", at: "\"down:7\"", what: "no such leg", allowed: "down:1 to down:5" },
    Bad { name: "closing on itself", find: "(id: \"up\", azimuth: \"340 deg\", legs", put: "(id: \"up\", closes_on: \"up:1\", azimuth: \"340 deg\", legs", path: "site.terrain.lines[1].closes_on", at: "\"up:1\"", what: "no such station", allowed: "a transect listed before: down" },
    Bad { name: "taped leg from nowhere", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (north: True, terrain: GeoTiff(file: \"a.tif\", stump: (1.0, 2.0), taped: [(id: \"t\", from: \"u:1\", azimuth: \"10 deg\", legs: [(\"5 m\", \"3 deg\")])]), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.taped[0].from", at: "\"u:1\"", what: "no such station", allowed: "stump" },
    Bad { name: "taped leg of no length", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (north: True, terrain: AsciiGrid(file: \"a.asc\", stump: (1.0, 2.0), taped: [(id: \"t\", azimuth: \"10 deg\", legs: [(\"0 m\", \"3 deg\")])]), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.taped[0].legs[0][0]", at: "\"0 m\"", what: "can't be zero", allowed: "to" },
    Bad { name: "raster without north", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (terrain: GeoTiff(file: \"a.tif\", stump: (1.0, 2.0)), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site", at: "(terrain", what: "north must be said", allowed: "Magnetic" },
    Bad { name: "raster without a name", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (north: True, terrain: GeoTiff(file: \" \", stump: (1.0, 2.0)), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.file", at: "\" \"", what: "no file name", allowed: "relative to the scene" },
    Bad { name: "raster with a stump nowhere", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (north: True, terrain: GeoTiff(file: \"a.tif\", stump: (1.0, inf)), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.stump", at: "(1.0, inf)", what: "no coordinates", allowed: "x and y" },
    Bad { name: "inline heights that are too few", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (terrain: Inline(cell: \"1 m\", columns: 2, rows: 2, south_west: (\"-0.5 m\", \"-0.5 m\"), heights_m: [0.0, 1.0, 2.0]), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.heights_m", at: "[0.0", what: "3 heights", allowed: "= 4" },
    Bad { name: "inline height with a hole", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (terrain: Inline(cell: \"1 m\", columns: 2, rows: 2, south_west: (\"-0.5 m\", \"-0.5 m\"), heights_m: [0.0, 1.0, NaN, 2.0]), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.heights_m[2]", at: "NaN", what: "no height", allowed: "no holes" },
    Bad { name: "inline terrain beside the stump", find: "", put: "(version: 1, name: \"x\", units: Metric, site: (terrain: Inline(cell: \"1 m\", columns: 2, rows: 2, south_west: (\"5 m\", \"5 m\"), heights_m: [0.0, 1.0, 2.0, 2.0]), ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)), tree: (species: \"x\", dbh: \"1 ft\", height: \"50 ft\"))", path: "site.terrain.south_west", at: "(\"5 m\"", what: "not on the terrain", allowed: "past the stump" },
    Bad { name: "unknown soil", find: "soil: ThumbWithEffort", put: "soil: Mud", path: "site.ground.soil", at: "Mud", what: "unknown word", allowed: "ThumbIndents" },
    Bad { name: "litter of no depth", find: "cover: Litter(\"2 in\")", put: "cover: Litter(\"0 in\")", path: "site.ground.cover", at: "Litter(\"0 in\")", what: "can't be zero", allowed: "to" },
    Bad { name: "litter without depth", find: "cover: Litter(\"2 in\")", put: "cover: Litter", path: "site.ground.cover", at: "", what: "", allowed: "" },
    Bad { name: "gust below the wind", find: "// wind: (speed: Eyed(\"5 mph\"), gust: Eyed(\"12 mph\"), from: \"270 deg\"),", put: "wind: (speed: \"12 mph\", gust: \"5 mph\", from: \"270 deg\"),", path: "site.wind.gust", at: "\"5 mph\"", what: "slower than the wind", allowed: "at least" },
    Bad { name: "crossing outline", find: "At(from: \"down:5\", azimuth: \"250 deg\", distance: \"40 ft\"),", put: "At(from: \"down:5\", azimuth: \"70 deg\", distance: \"30 ft\"), At(from: \"down:5\", azimuth: \"250 deg\", distance: \"40 ft\"), Local(east: \"0 ft\", north: \"-40 ft\"),", path: "site.patches[0].outline", at: "[", what: "crosses itself", allowed: "in order" },
    Bad { name: "outline of two corners", find: "At(from: \"down:5\", azimuth: \"250 deg\", distance: \"40 ft\"),\n                    At(from: \"down:5\", azimuth: \"70 deg\", distance: \"40 ft\"),", put: "", path: "site.patches[0].outline", at: "[", what: "2 corner", allowed: "three" },
    Bad { name: "coordinates without a grid", find: "at: At(azimuth: \"120 deg\", distance: \"33 ft\")", put: "at: Grid(x: 1.0, y: 2.0)", path: "targets[2].at", at: "Grid", what: "has none", allowed: "Local" },
    // Tree.
    Bad { name: "topped above the top", find: "topped_at: \"48 ft\"", put: "topped_at: \"80 ft\"", path: "tree.topped_at", at: "\"80 ft\"", what: "above the tree's top", allowed: "71 ft" },
    Bad { name: "diameter above the top", find: "(\"32 ft\", \"12 in\")", put: "(\"90 ft\", \"12 in\")", path: "tree.diameters[1][0]", at: "\"90 ft\"", what: "above the tree's top", allowed: "71 ft" },
    Bad { name: "diameters out of order", find: "(\"32 ft\", \"12 in\")", put: "(\"12 ft\", \"12 in\")", path: "tree.diameters[1][0]", at: "\"12 ft\"", what: "not above", allowed: "lowest first" },
    Bad { name: "stem that grows upward", find: "(\"32 ft\", \"12 in\")", put: "(\"32 ft\", \"32 in\")", path: "tree.diameters[1][1]", at: "\"32 in\"", what: "thicker upward", allowed: "16 in" },
    Bad { name: "plumbed above the top", find: "height: \"30 ft\", toward", put: "height: \"99 ft\", toward", path: "tree.lean.height", at: "\"99 ft\"", what: "above the tree's top", allowed: "71 ft" },
    Bad { name: "lean to the ground", find: "offset: \"2 ft\"", put: "offset: \"35 ft\"", path: "tree.lean.offset", at: "\"35 ft\"", what: "45 deg", allowed: "at most" },
    Bad { name: "shell thicker than the stem", find: "// hollows: [(from: \"0 ft\", to: \"6 ft\", shell: \"3 in\")],", put: "hollows: [(from: \"20 ft\", to: \"26 ft\", shell: \"9 in\")],", path: "tree.hollows[0].shell", at: "\"9 in\"", what: "solid", allowed: "radius" },
    Bad { name: "hollow upside down", find: "// hollows: [(from: \"0 ft\", to: \"6 ft\", shell: \"3 in\")],", put: "hollows: [(from: \"6 ft\", to: \"2 ft\", shell: \"3 in\")],", path: "tree.hollows[0].to", at: "\"2 ft\"", what: "without length", allowed: "above `from`" },
    // Targets and aids.
    Bad { name: "id twice", find: "id: \"footpath\"", put: "id: \"footbridge\"", path: "targets[1].id", at: "\"footbridge\"", what: "taken, by targets[0]", allowed: "of its own" },
    Bad { name: "id of the program", find: "id: \"footpath\"", put: "id: \"climber\"", path: "targets[1].id", at: "\"climber\"", what: "uses itself", allowed: "any id but climber" },
    Bad { name: "id with a slash", find: "id: \"footpath\"", put: "id: \"../foot\"", path: "targets[1].id", at: "\"../foot\"", what: "no id", allowed: "letters, digits" },
    Bad { name: "unknown target", find: "Path(\n            id: \"footpath\"", put: "Pond(\n            id: \"footpath\"", path: "targets[1]", at: "Pond", what: "unknown word", allowed: "KeepTree" },
    Bad { name: "roof under the walls", find: "wall: \"4 ft\"", put: "wall: \"4 ft\", roof: \"3 ft\"", path: "targets[0].roof", at: "\"3 ft\"", what: "lower than the walls", allowed: "4 ft" },
    Bad { name: "window in no wall", find: "wall: \"4 ft\"", put: "wall: \"4 ft\", windows: [(wall: 5, along: \"1 ft\", width: \"1 ft\", sill: \"1 ft\", height: \"1 ft\")]", path: "targets[0].windows[0].wall", at: "5", what: "no such wall", allowed: "1 to 4" },
    Bad { name: "window in wall zero", find: "wall: \"4 ft\"", put: "wall: \"4 ft\", windows: [(wall: 0, along: \"1 ft\", width: \"1 ft\", sill: \"1 ft\", height: \"1 ft\")]", path: "targets[0].windows[0].wall", at: "0", what: "no such wall", allowed: "1 to 4" },
    Bad { name: "window past its wall", find: "wall: \"4 ft\"", put: "wall: \"4 ft\", windows: [(wall: 2, along: \"4 ft\", width: \"4 ft\", sill: \"1 ft\", height: \"1 ft\")]", path: "targets[0].windows[0].along", at: "\"4 ft\"", what: "past the end", allowed: "together at most" },
    Bad { name: "house over the stump", find: "At(azimuth: \"153 deg\", distance: \"88 ft\")", put: "At(azimuth: \"50 deg\", distance: \"9 ft\"), At(azimuth: \"290 deg\", distance: \"9 ft\"), At(azimuth: \"170 deg\", distance: \"20 ft\")] , wall: \"4 ft\"), Structure(id: \"f2\", corners: [At(azimuth: \"153 deg\", distance: \"88 ft\")", path: "targets[0].corners", at: "[", what: "the stump stands inside", allowed: "beside" },
    Bad { name: "keep tree in the tree", find: "at: At(azimuth: \"120 deg\", distance: \"33 ft\")", put: "at: At(azimuth: \"120 deg\", distance: \"0 ft\")", path: "targets[2].at", at: "At(azimuth: \"120 deg\", distance: \"0 ft\")", what: "in the tree itself", allowed: "at least" },
    Bad { name: "limbs above the top", find: "limbs: (from: \"9 ft\"", put: "limbs: (from: \"90 ft\"", path: "targets[2].limbs.from", at: "\"90 ft\"", what: "above the tree's top", allowed: "35 ft" },
    Bad { name: "wire on the ground", find: "targets: [", put: "targets: [Wire(id: \"w\", from: (at: Local(east: \"9 ft\", north: \"9 ft\"), height: \"5 ft\"), to: (at: Local(east: \"-9 ft\", north: \"9 ft\"), height: \"6 ft\"), sag: \"5 ft\"),", path: "targets[0].sag", at: "\"5 ft\"", what: "sags to the ground", allowed: "less than" },
    Bad { name: "wire to itself", find: "targets: [", put: "targets: [Wire(id: \"w\", from: (at: Local(east: \"9 ft\", north: \"9 ft\"), height: \"15 ft\"), to: (at: Local(east: \"9 ft\", north: \"9 ft\"), height: \"16 ft\")),", path: "targets[0].to.at", at: "Local", what: "in one place", allowed: "apart" },
    Bad { name: "path of one point", find: "At(azimuth: \"160 deg\", distance: \"104 ft\"),\n                At(from: \"down:4\", azimuth: \"250 deg\", distance: \"60 ft\"),", put: "", path: "targets[1].line", at: "[", what: "1 point", allowed: "two points" },
    Bad { name: "barrier log of no length", find: "to: At(from: \"down:2\", azimuth: \"250 deg\", distance: \"9 ft\")", put: "to: At(from: \"down:2\", azimuth: \"70 deg\", distance: \"9 ft\")", path: "aids[0].to", at: "At(from", what: "in one place", allowed: "apart" },
    Bad { name: "barrier log held by hope", find: "held: Staked", put: "held: Hope", path: "aids[0].held", at: "Hope", what: "unknown word", allowed: "AgainstStump" },
    // Cuts.
    Bad { name: "section above the top", find: "Section(from: \"42 ft\", to: \"48 ft\")", put: "Section(from: \"42 ft\", to: \"88 ft\")", path: "cuts[0].piece.to", at: "\"88 ft\"", what: "above the top", allowed: "at most 48 ft" },
    Bad { name: "section already gone", find: "Section(from: \"34 ft\", to: \"42 ft\")", put: "Section(from: \"34 ft\", to: \"44 ft\")", path: "cuts[1].piece.to", at: "\"44 ft\"", what: "what the cut \"first\" leaves", allowed: "at most 42 ft" },
    Bad { name: "section upside down", find: "Section(from: \"34 ft\", to: \"42 ft\")", put: "Section(from: \"42 ft\", to: \"34 ft\")", path: "cuts[1].piece.to", at: "\"34 ft\"", what: "upside down", allowed: "above `from`" },
    Bad { name: "section of no length", find: "Section(from: \"34 ft\", to: \"42 ft\")", put: "Section(from: \"34 ft\", to: \"34 ft\")", path: "cuts[1].piece.to", at: "\"34 ft\"", what: "without length", allowed: "above `from`" },
    Bad { name: "negative height", find: "Section(from: \"34 ft\", to: \"42 ft\")", put: "Section(from: \"-2 ft\", to: \"42 ft\")", path: "cuts[1].piece.from", at: "\"-2 ft\"", what: "can't be negative", allowed: "to" },
    Bad { name: "hinge thicker than the stem", find: "hinge: \"1 1/2 in\"", put: "hinge: \"20 in\"", path: "cuts[2].release.hinge", at: "\"20 in\"", what: "thicker than the stem", allowed: "the stem is about" },
    Bad { name: "no room for the strap", find: "release: Hinge(face: \"160 deg\", opening: \"70 deg\", depth: \"25 %\", hinge: \"1 1/2 in\", width: \"90 %\")", put: "release: BoredHinge(face: \"160 deg\", opening: \"70 deg\", depth: \"25 %\", hinge: \"8 in\", strap: \"8 in\")", path: "cuts[2].release.strap", at: "\"8 in\"", what: "no room", allowed: "together" },
    Bad { name: "face deeper than the stem", find: "depth: \"25 %\", hinge: \"1 1/2 in\"", put: "depth: \"80 %\", hinge: \"1 1/2 in\"", path: "cuts[2].release.depth", at: "\"80 %\"", what: "beyond what is plausible", allowed: "5 % to 60 %" },
    Bad { name: "push above the piece", find: "height: \"4 ft\"))", put: "height: \"14 ft\"))", path: "cuts[1].release.push.height", at: "\"14 ft\"", what: "above the piece", allowed: "8 ft" },
    Bad { name: "stub on another piece", find: "(height: \"38 ft\"", put: "(height: \"30 ft\"", path: "cuts[1].stubs[0].height", at: "\"30 ft\"", what: "not on this section", allowed: "34 ft to 42 ft" },
    Bad { name: "stub thicker than the stem", find: "length: \"14 in\", diameter: \"4 in\"", put: "length: \"14 in\", diameter: \"24 in\"", path: "cuts[1].stubs[0].diameter", at: "\"24 in\"", what: "thicker than the stem", allowed: "at most" },
    Bad { name: "unknown release", find: "PushOver(toward: \"160 deg\")", put: "Drop(toward: \"160 deg\")", path: "cuts[0].release", at: "Drop", what: "unknown word", allowed: "BoredHinge" },
    Bad { name: "release without its face", find: "Hinge(face: \"160 deg\", ", put: "Hinge(", path: "cuts[2].release.face", at: "Hinge(", what: "\"face\" is missing", allowed: "face:" },
    Bad { name: "field of another release", find: "PushOver(toward: \"160 deg\")", put: "PushOver(toward: \"160 deg\", hinge: \"1 in\")", path: "cuts[0].release.hinge", at: "hinge", what: "unknown field", allowed: "push" },
];

fn problem(text: &str) -> Option<Problem> {
    let error = scene::parse(text, "job.ron").err()?;
    error.problem().cloned()
}

/// The rest of the text from a line and column, both from 1.
fn rest(text: &str, line: usize, column: usize) -> String {
    let line = text.split('\n').nth(line - 1).unwrap_or("");
    line.chars().skip(column - 1).collect()
}

#[test]
fn verif_bad_scenes_are_refused_with_place_and_words() {
    let good = scene::starter();
    let mut failures = Vec::new();
    for bad in BAD {
        let text = match bad.find {
            "" => bad.put.to_owned(),
            find => {
                assert!(good.contains(find), "{}: {find:?} is in the starter", bad.name);
                good.replacen(find, bad.put, 1)
            }
        };
        let Some(problem) = problem(&text) else {
            failures.push(format!("{}: not refused", bad.name));
            continue;
        };
        let said = problem.to_string();
        let place = rest(&text, problem.line, problem.column);
        let holds = [
            said.starts_with(&format!("job.ron:{}:{}: ", problem.line, problem.column)),
            problem.path == bad.path
                || (bad.path == "whole scene" && problem.path.contains(bad.path)),
            place.starts_with(bad.at),
            bad.at.is_empty()
                || problem.read.starts_with(bad.at)
                || bad.at.starts_with(problem.read.trim_end_matches(" ...")),
            problem.what.contains(bad.what) && !problem.what.is_empty(),
            problem.allowed.contains(bad.allowed) && !problem.allowed.is_empty(),
            said.contains("; read ") && said.contains("; allowed: "),
        ];
        if holds.contains(&false) {
            failures.push(format!("{}: {holds:?}\n    {said}\n    at {place:?}", bad.name));
        }
    }
    assert!(failures.is_empty(), "{} of {}:\n{}", failures.len(), BAD.len(), failures.join("\n"));
    assert!(BAD.len() >= 60);
}

#[test]
fn verif_all_that_is_wrong_is_said_at_once() {
    let text = scene::starter().replacen("dbh: \"19 in\"", "dbh: \"-19 in\"", 1).replacen(
        "topped_at: \"48 ft\"",
        "topped_at: \"900 ft\"",
        1,
    );
    let problem = problem(&text).unwrap();
    assert_eq!(problem.path, "tree.dbh");
    assert_eq!(problem.others.len(), 1);
    assert_eq!(problem.others[0].path, "tree.topped_at");
}
