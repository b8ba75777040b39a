//! What the tree itself says, and where it may say it.

use std::{fs, path::Path};

use tumblewood_tests::{root, written_files};

/// Endings of files whose text a user can come to read, or that make such text.
const SAYING: [&str; 11] =
    ["rs", "md", "ron", "toml", "json", "html", "csv", "txt", "svg", "wgsl", "yml"];

/// Lines of a file that hold a place for which `wrong` holds, as "file:line: text".
fn lines_where(path: &Path, wrong: impl Fn(&str) -> bool) -> Vec<String> {
    let bytes = fs::read(path).expect("a file of the tree");
    let text = String::from_utf8_lossy(&bytes);
    let wrong_lines = text.lines().enumerate().filter(|(_, line)| wrong(line));
    wrong_lines.map(|(n, line)| format!("{}:{}: {line}", path.display(), n + 1)).collect()
}

/// The word for "free of danger" and its forms, put together here so that this file lacks it.
/// Longer words that hold it (the lint against raw pointers, a caught panic) are other words.
fn promises(line: &str) -> bool {
    let word = ["sa", "fe"].concat();
    line.split(|c: char| !c.is_alphanumeric())
        .map(str::to_lowercase)
        .filter_map(|spoken| spoken.strip_prefix(&word).map(str::to_owned))
        .any(|ending| ["", "r", "st", "ly"].contains(&ending.as_str()))
}

#[test]
fn prop_nothing_promises_freedom_from_danger() {
    let word = ["sa", "fe"].concat();
    for (line, expected) in [
        (format!("it is {word} here"), true),
        (format!("{}LY!", word.to_uppercase()), true),
        (format!("thread-{word}"), true),
        (format!("un{word}_code"), false),
        (format!("AssertUnwind{word}"), false),
        (format!("Occupational {word}ty"), false),
    ] {
        assert_eq!(promises(&line), expected, "{line}");
    }
    let files = written_files(&root(), &SAYING);
    assert!(files.len() > 30, "only {} files were found", files.len());
    let found: Vec<String> = files.iter().flat_map(|path| lines_where(path, promises)).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// A macro that prints, outside a comment.
fn prints(line: &str) -> bool {
    let code = line.split("//").next().unwrap_or_default();
    ["println!", "print!", "dbg!"].iter().any(|name| {
        code.match_indices(name).any(|(at, _)| {
            let before = code[..at].chars().next_back();
            !before.is_some_and(|c| c.is_alphanumeric() || c == '_')
        })
    })
}

#[test]
fn prop_the_library_prints_nothing() {
    for (line, expected) in [
        ("    println!(\"{x}\");", true),
        ("if x { print!(\".\") }", true),
        ("/// println!(\"{x}\");", false),
        ("eprintln!(\"{x}\"); // the command's own errors", false),
        ("write!(out, \"{x}\")?;", false),
    ] {
        assert_eq!(prints(line), expected, "{line}");
    }
    // Printing is what the command is for; everything else of the package is the library.
    let command = root().join("sim/src/command");
    let mut files = written_files(&root().join("sim"), &["rs"]);
    files.retain(|path| !path.starts_with(&command));
    assert!(files.len() > 10, "only {} files were found", files.len());
    let found: Vec<String> = files.iter().flat_map(|path| lines_where(path, prints)).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}
