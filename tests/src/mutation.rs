//! The constants of the source, and the source with each of them open to be scaled at run time.
//!
//! The list is generated: every constant at the top of a file of the physics, the numbers of a few
//! struct literals, and the columns of the species' table. A new one is physical until it is said
//! here to be something else. The program itself knows nothing of this: `tests/run mutation`
//! works on a copy in which every use of a constant `X` reads `crate::mutation::of(id, X)`, and
//! `of` scales the one that the environment names (`mutation/scaled.rs`).

use std::{collections::BTreeSet, fmt, fs, path::Path};

use crate::{root, written_files};

/// What the copy's `sim` holds as its module `mutation`.
pub const SCALED: &str = include_str!("mutation/scaled.rs");

/// Where the outcome of every constant stands, from the top of the tree.
pub const TABLE: &str = "tests/mutation.md";

/// What a constant says something about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The world, or what we call things: a check has to notice that it changed.
    Physical,
    /// How finely something is reckoned: no check may notice.
    Numerical,
    /// Mathematics, versions, bounds of arrays.
    Neither,
}

/// Files of the physics, or folders of them, under `sim/src`.
const PHYSICS: [&str; 14] = [
    "lib.rs",
    "ground/table.rs",
    "soil/",
    "drop/",
    "release/",
    "tree/",
    "wood.rs",
    "outcome.rs",
    "ground.rs",
    "job/around.rs",
    "job/cut.rs",
    "job/line.rs",
    "line.rs",
    "felling/",
];

/// Files and folders among them whose constants say how finely something is reckoned …
const NUMERICAL_FILES: [&str; 12] = [
    "soil/contact.rs",
    "soil/field.rs",
    "soil/kick.rs",
    "drop/footprint.rs",
    "drop/free.rs",
    "drop/mover.rs",
    "drop/loose.rs",
    "drop/quiet.rs",
    "drop/run.rs",
    "drop/run/",
    "drop/near/",
    "release/turn.rs",
];

/// … but for these.
const PHYSICAL_ALL_THE_SAME: [&str; 2] = ["LEAST_CHORD_M", "SOLID_FRICTION"];

/// Numerical constants of the other files.
const NUMERICAL: [&str; 24] = [
    "BLEND_SHARE",
    "STATION_SPACING_M",
    "LET_GO_S",
    "STILL_SPEEDS",
    "STILL_S",
    "SAME_TOUCH_S",
    "WAY_ABOVE_M_S",
    "LEAST_WEIGHTS",
    "THROWS_ABOVE_M_S",
    "ANGLES",
    "CLEAR_OF_ENDS_M",
    "LOOKS",
    "LOOK_M",
    "PAST_RAD",
    "REACH_RAD",
    "PLACES",
    "SPRAYS",
    "SPRAY_HALF_M",
    "SLACK_LOOK_M",
    "FALLS_M_S",
    "LOOK_RAD",
    "MOST_TURN_RAD",
    "ALONG_M",
    "HALVINGS",
];

/// Mathematics, units inside a `const fn`, a version, bounds of arrays and lists, names; of the
/// cut what stands about: sizes of people, lines and gaps; of felling what a tape misses.
const NEITHER: [&str; 29] = [
    "GAUSS4",
    "HALF_COSINE",
    "HALF_SINE",
    "STEP_COSINE",
    "STEP_SINE",
    "TSF_PA",
    "LAW",
    "AROUND",
    "MOST_TOUCHES",
    "MOST_PARTS",
    "MOST_CELLS",
    "MOST_CHANGES",
    "TERRAIN",
    "MOVER",
    "KERF_M",
    "FEET_BELOW_M",
    "LINE_BELOW_M",
    "LINE_RADIUS_M",
    "RETREAT_M",
    "CALM_M_S",
    "DEG",
    "DRAWS",
    "GAP_M",
    "VERSION",
    "SHORTEST_TOP_M",
    "SHORTEST_LIMB_M",
    "CORNERS",
    "LIMBS",
    "PER_WHORL",
];

/// Shares so near to one that a tenth would lead past it: what they leave changes by a tenth.
const NEARLY_ALL: [&str; 1] = ["FACE_COSINE"];

/// A struct literal whose numbers are constants: file, the line that its function or `impl` begins
/// with, its name, what its numbers are.
const LITERALS: [(&str, &str, &str, Kind); 4] = [
    ("drop/mover.rs", "impl Default for Pace {", "Pace", Kind::Numerical),
    ("soil/contact.rs", "impl Default for Fineness {", "Fineness", Kind::Numerical),
    ("soil/kick.rs", "impl Default for Exactness {", "Exactness", Kind::Numerical),
    ("release/mod.rs", "    pub fn usual(", "HingeSpec::usual", Kind::Physical),
];

/// Where the species' table is read, and the table.
const SPECIES: (&str, &str) = ("wood.rs", "assets/species.csv");

/// Fixtures of the tests, and units, which stay what they are where gravity changes.
const UNTOUCHED: [&str; 3] = ["soil/testing.rs", "quantity/kinds.rs", "report/units.rs"];

/// One constant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Constant {
    /// Its name; of a number in a struct literal or a table with the name of that before it.
    pub name: String,
    /// File under `sim/src`.
    pub file: String,
    /// As written, without names; shortened where it is long.
    pub value: String,
    /// Unit, 1 where it has none.
    pub unit: String,
    /// What it says something about.
    pub kind: Kind,
    /// What uses of it look like: a name at the top of a file, or nothing.
    is_name: bool,
    is_public: bool,
    /// Constants that its value is made of.
    made_of: Vec<String>,
}

/// One file of `sim/src`.
#[derive(Clone, Debug)]
pub struct Source {
    /// Place under `sim/src`.
    pub file: String,
    /// Text.
    pub text: String,
}

impl fmt::Display for Constant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { name, file, value, unit, .. } = self;
        write!(f, "| `{name}` | `{file}` | {value} | {unit} |")
    }
}

/// Every file of `sim/src` that isn't a test, in the order of their names.
#[must_use]
pub fn sources() -> Vec<Source> {
    let top = root().join("sim/src");
    written_files(&top, &["rs"])
        .iter()
        .filter_map(|path| {
            let file = path.strip_prefix(&top).ok()?.to_str()?.replace('\\', "/");
            Some(Source { text: fs::read_to_string(path).ok()?, file })
        })
        .filter(|s| !s.file.ends_with("tests.rs") && !UNTOUCHED.contains(&s.file.as_str()))
        .collect()
}

/// The constants of these files; one's place in the list is its id.
#[must_use]
pub fn constants(sources: &[Source]) -> Vec<Constant> {
    let mut all = Vec::new();
    for source in sources.iter().filter(|s| is_in(&s.file, &PHYSICS)) {
        all.extend(named(source));
        for (file, begins, owner, kind) in LITERALS.iter().filter(|l| l.0 == source.file) {
            all.extend(literal(&source.text, begins).into_iter().map(|(field, value)| Constant {
                name: format!("{owner}.{field}"),
                file: (*file).to_owned(),
                value: value.to_owned(),
                unit: unit(field).to_owned(),
                kind: *kind,
                is_name: false,
                is_public: false,
                made_of: Vec::new(),
            }));
        }
        if source.file == SPECIES.0 {
            all.extend(columns(&source.text).into_iter().map(|(_, column)| Constant {
                name: format!("species.{column}"),
                file: source.file.clone(),
                value: format!("a column of `{}`", SPECIES.1),
                unit: column_unit(&column).to_owned(),
                kind: Kind::Physical,
                is_name: false,
                is_public: false,
                made_of: Vec::new(),
            }));
        }
    }
    all
}

/// The text of a file with every use of a constant open to be scaled.
#[must_use]
pub fn opened(source: &Source, all: &[Constant]) -> String {
    let own: BTreeSet<String> = declared(&source.text).into_iter().map(|d| d.name).collect();
    let id_of = |name: &str| {
        all.iter().position(|c| {
            let here = c.file == source.file;
            c.is_name && c.name == name && (here || c.is_public && !own.contains(name))
        })
    };
    let ids = |name: &str| -> Vec<usize> {
        let Some(id) = id_of(name) else { return Vec::new() };
        let parts = all[id].made_of.iter().filter_map(|part| id_of(part));
        parts.chain([id]).filter(|id| all[*id].kind != Kind::Neither).collect()
    };
    let mut text = source.text.clone();
    for (_, begins, owner, _) in LITERALS.iter().filter(|l| l.0 == source.file) {
        for (field, value) in literal(&source.text, begins) {
            let name = format!("{owner}.{field}");
            if let Some(id) = all.iter().position(|c| c.name == name) {
                let [old, new] = [value.to_owned(), wrapped(&[id], value)]
                    .map(|value| format!("{field}: {value}"));
                let from = text.find(begins).unwrap_or(0);
                let tail = text[from..].replacen(&old, &new, 1);
                text = format!("{}{tail}", &text[..from]);
            }
        }
    }
    if source.file == SPECIES.0 {
        let mut lets = String::new();
        for (variable, column) in columns(&source.text) {
            let name = format!("species.{column}");
            if let Some(id) = all.iter().position(|c| c.name == name) {
                lets += &format!("    let {variable} = {};\n", wrapped(&[id], &variable));
            }
        }
        text = text.replacen("    Some(Species {\n", &format!("{lets}    Some(Species {{\n"), 1);
    }
    uses_wrapped(&text, &ids)
}

fn wrapped(ids: &[usize], value: &str) -> String {
    if NEARLY_ALL.iter().any(|name| value.ends_with(name)) {
        return format!("(1.0 - {})", outward(ids, &format!("1.0 - {value}")));
    }
    outward(ids, value)
}

fn outward(ids: &[usize], value: &str) -> String {
    ids.iter().fold(value.to_owned(), |inner, id| format!("crate::mutation::of({id}, {inner})"))
}

fn is_in(file: &str, places: &[&str]) -> bool {
    places.iter().any(|p| if p.ends_with('/') { file.starts_with(p) } else { file == *p })
}

/// A constant at the top of a file.
struct Declared {
    name: String,
    kind: String,
    value: String,
    is_public: bool,
}

/// What stands at the top of a file, as rustfmt writes it, up to its tests.
fn declared(text: &str) -> Vec<Declared> {
    let mut all = Vec::new();
    let mut lines = text.lines().take_while(|line| *line != "#[cfg(test)]");
    while let Some(line) = lines.next() {
        let (is_public, rest) = match line.split_once("const ") {
            Some(("", rest)) => (false, rest),
            Some((before, rest)) if before.starts_with("pub") && before.ends_with(' ') => {
                (true, rest)
            }
            _ => continue,
        };
        let mut whole = rest.to_owned();
        if whole.starts_with("fn ") {
            continue;
        }
        while !whole.ends_with(';') {
            let Some(more) = lines.next() else { break };
            whole += " ";
            whole += more.trim();
        }
        if let Some((name, rest)) = whole.split_once(": ")
            && let Some((kind, value)) = rest.split_once(" =")
        {
            let value = value.trim().trim_end_matches(';').to_owned();
            all.push(Declared { name: name.to_owned(), kind: kind.to_owned(), value, is_public });
        }
    }
    all
}

/// The constants at the top of a file that are numbers, and those made of one.
fn named(source: &Source) -> Vec<Constant> {
    let all = declared(&source.text);
    let numbers = ["f64", "Real", "u32", "usize", "DVec3", "Range"];
    all.into_iter()
        .filter(|d| {
            // `f64`, `[f64; 2]`, `[(Thumb, Range); 6]`, but no table of tables.
            let inner = d.kind.trim_start_matches('[').split(';').next().unwrap_or_default();
            let inner = inner.trim_start_matches('(').rsplit(", ").next().unwrap_or_default();
            numbers.contains(&inner.trim_end_matches(')')) && !d.kind.contains('&')
        })
        .map(|d| {
            let kind = match d.name.as_str() {
                name if NEITHER.contains(&name) => Kind::Neither,
                name if PHYSICAL_ALL_THE_SAME.contains(&name) => Kind::Physical,
                name if NUMERICAL.contains(&name) => Kind::Numerical,
                _ if is_in(&source.file, &NUMERICAL_FILES) => Kind::Numerical,
                _ => Kind::Physical,
            };
            Constant {
                unit: declared_unit(&d).to_owned(),
                value: shown(&d.value),
                // Gravity as a vector is no constant of its own.
                kind: if d.kind == "DVec3" { Kind::Neither } else { kind },
                file: source.file.clone(),
                is_name: true,
                is_public: d.is_public,
                made_of: words(&d.value)
                    .filter(|w| w.to_uppercase() == **w)
                    .map(Into::into)
                    .collect(),
                name: d.name,
            }
        })
        .collect()
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))
        .filter(|w| w.starts_with(|c: char| c.is_ascii_alphabetic()))
}

/// Numbers of the struct literal in the block that begins with this line: field and value.
fn literal<'a>(text: &'a str, begins: &str) -> Vec<(&'a str, &'a str)> {
    let Some(from) = text.find(begins) else { return Vec::new() };
    let Some(open) = text[from..].find("Self {").map(|at| from + at + "Self {".len()) else {
        return Vec::new();
    };
    // None of these literals holds a brace; the signature's `-> Self {` comes before the literal.
    let open = text[open..].find("Self {").filter(|at| *at < 200).map_or(open, |at| open + at + 6);
    let Some(close) = text[open..].find('}').map(|at| open + at) else { return Vec::new() };
    let is_number = |value: &str| {
        let digits = |w: &str| w.starts_with(|c: char| c.is_ascii_digit());
        let not_a_word = |c: char| !(c.is_ascii_alphanumeric() || c == '_' || c == '.');
        value.split(not_a_word).any(digits) && value != "0.0"
    };
    text[open..close]
        .split(",")
        .filter_map(|field| field.trim().split_once(": "))
        .filter(|(_, value)| is_number(value))
        .collect()
}

/// Columns of the species' table that are read: the variable and the column's head.
fn columns(text: &str) -> Vec<(String, String)> {
    let table = fs::read_to_string(root().join(Path::new(SPECIES.1))).unwrap_or_default();
    let head = table.lines().find(|line| !line.starts_with('#')).unwrap_or_default();
    let pattern = text.split("let [").nth(1).and_then(|t| t.split(']').next()).unwrap_or_default();
    // The first two columns, code and name, are split off before.
    let names = head.split(',').skip(2);
    let variables = pattern.split(',').map(str::trim);
    let read = variables.zip(names).filter(|(variable, _)| *variable != "_");
    read.map(|(variable, name)| (variable.to_owned(), name.to_owned())).collect()
}

/// The text with every use of a constant wrapped: not in `use`, in other constants, in constant
/// functions, in comments, in tests.
fn uses_wrapped(text: &str, ids: &impl Fn(&str) -> Vec<usize>) -> String {
    let mut out = String::with_capacity(2 * text.len());
    let mut until: Option<&str> = None;
    for line in text.split_inclusive('\n') {
        let code = line.trim();
        if code == "#[cfg(test)]" {
            until = Some("never");
        }
        let item = code.trim_start_matches(|c| c != ' ').trim_start();
        let item = if code.starts_with("pub") { item } else { code };
        if until.is_none() {
            if item.starts_with("const fn ") {
                until = Some("}\n");
            } else if ["use ", "const ", "static "].iter().any(|word| item.starts_with(word)) {
                until = Some(";\n");
            }
        }
        if let Some(end) = until {
            out += line;
            if line.ends_with(end) && (end != "}\n" || line == end) {
                until = None;
            }
        } else if code.starts_with("//") {
            out += line;
        } else {
            wrap_line(line, ids, &mut out);
        }
    }
    out
}

fn wrap_line(line: &str, ids: &impl Fn(&str) -> Vec<usize>, out: &mut String) {
    let in_path = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == ':';
    let mut rest = line;
    while let Some(c) = rest.chars().next() {
        let length = rest.find(|c| !in_path(c)).unwrap_or(rest.len());
        if length == 0 {
            out.push(c);
            rest = &rest[c.len_utf8()..];
            continue;
        }
        let path = &rest[..length];
        let ids = ids(path.rsplit("::").next().unwrap_or(path));
        *out += &if out.ends_with('.') || ids.is_empty() {
            path.to_owned()
        } else {
            wrapped(&ids, path)
        };
        rest = &rest[length..];
    }
}

/// The numbers of a table's rows, or the value as written, in at most sixty letters.
fn shown(value: &str) -> String {
    let lists: Vec<&str> = value
        .match_indices('[')
        .filter_map(|(at, _)| value[at..].split_once(']').map(|(list, _)| &list[1..]))
        .filter(|list| !list.contains('[') && list.contains(|c: char| c.is_ascii_digit()))
        .collect();
    let rows: Vec<&str> =
        value.split("heel_row(").skip(1).filter_map(|row| row.split(')').next()).collect();
    let text = match (rows.is_empty(), lists.is_empty()) {
        (false, _) => rows.join("; "),
        (_, false) => lists.join("; "),
        _ => value.replace('|', "/"),
    };
    if text.chars().count() <= 60 {
        return text;
    }
    text.chars().take(58).collect::<String>() + " …"
}

fn declared_unit(declared: &Declared) -> &str {
    let quoted = |unit: &&&str| declared.value.contains(&format!("\"{unit}\""));
    match declared.kind.contains("Range") {
        _ if declared.value.contains("thumb_row(") => "ton/ft² (q_u)",
        _ if declared.value.contains("heel_row(") => "°",
        true => ["Pa", "kg/m³", "rad", "m", "1"].iter().find(quoted).unwrap_or(&"1"),
        false => unit(&declared.name),
    }
}

/// The unit that a name ends in.
fn unit(name: &str) -> &'static str {
    let units = [
        ("_m_s2", "m/s²"),
        ("_rad_s", "rad/s"),
        ("_m_s", "m/s"),
        ("_kg_m3_per_lb_ft3", "kg/m³ in lb/ft³"),
        ("pa_per_psi", "Pa in psi"),
        ("m_per_ft", "m in ft"),
        ("m_per_in", "m in in"),
        ("kg_m3_per_lb_ft3", "kg/m³ in lb/ft³"),
        ("_range_rad", "rad"),
        ("_rad", "rad"),
        ("_pa", "Pa"),
        ("_j", "J"),
        ("_m", "m"),
        ("_s", "s"),
    ];
    let name = name.to_lowercase();
    units.iter().find(|(end, _)| name.ends_with(end)).map_or("1", |(_, unit)| unit)
}

fn column_unit(column: &str) -> &'static str {
    let units = [("million_psi", "10⁶ psi"), ("psi", "psi"), ("lb_ft3", "lb/ft³")];
    units.iter().find(|(end, _)| column.ends_with(end)).map_or("1", |(_, unit)| unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(text: &str) -> Source {
        Source { file: "soil/law.rs".to_owned(), text: text.to_owned() }
    }

    #[test]
    fn prop_uses_are_wrapped_and_nothing_else() {
        let text = "use a::{\n    HARD_M,\n};\n/// HARD_M\npub const HARD_M: f64 = 2.0;\n\
                    const SOFT_M: f64 = 0.5 * HARD_M;\nconst fn f() -> f64 {\n    HARD_M\n}\n\
                    fn g() -> f64 {\n    super::HARD_M + SOFT_M * x.HARD_M\n}\n\
                    #[cfg(test)]\nmod tests { HARD_M }\n";
        let source = source(text);
        let all = constants(std::slice::from_ref(&source));
        let names: Vec<_> = all.iter().map(|c| (c.name.as_str(), c.unit.as_str())).collect();
        assert_eq!(names, [("HARD_M", "m"), ("SOFT_M", "m")]);
        let new = "crate::mutation::of(0, super::HARD_M) + \
                   crate::mutation::of(1, crate::mutation::of(0, SOFT_M)) * x.HARD_M";
        let expected = text.replace("super::HARD_M + SOFT_M * x.HARD_M", new);
        assert_eq!(opened(&source, &all), expected);
    }

    #[test]
    fn prop_every_literal_and_column_is_found() {
        let all = constants(&sources());
        for (_, _, owner, _) in LITERALS {
            let count = all.iter().filter(|c| c.name.starts_with(&format!("{owner}."))).count();
            assert!(count > 1, "{owner}: {count}");
        }
        assert_eq!(all.iter().filter(|c| c.name.starts_with("species.")).count(), 13);
        for name in
            NEITHER.iter().chain(&NEARLY_ALL).chain(&NUMERICAL).chain(&PHYSICAL_ALL_THE_SAME)
        {
            let written = sources().iter().any(|s| s.text.contains(&format!("const {name}:")));
            assert!(written, "there is no {name} any more");
        }
    }
}
