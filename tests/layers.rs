//! The house rules that a compiler does not know: which layer may use which,
//! what only the commands may do, how long a file may be.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// From the bottom up: each may use only those before it.
const ORDER: [&str; 12] = [
    "base",
    "diagnostic",
    "manual",
    "quantity",
    "syntax",
    "structure",
    "numeric",
    "statics",
    "check",
    "solution",
    "present",
    "command",
];

/// Layers that know even less than their place allows.
const IGNORANT: [(&str, &[&str]); 3] =
    [("numeric", &["structure", "syntax", "diagnostic"]), ("base", &[]), ("statics", &["diagnostic"])];

/// A file holds one thought; past about 1,200 lines before its tests it holds two.
const MOST_LINES: usize = 1230;

#[test]
fn no_layer_knows_those_above_it() {
    let place = |layer: &str| ORDER.iter().position(|known| *known == layer);
    let mut faults = String::new();
    for source in sources() {
        let Some(own) = place(&source.layer) else {
            assert!(source.layer == "lib" || source.layer == "main", "{} is in no layer", source.name());
            continue;
        };
        for used in source.used_layers() {
            let used_place = place(&used).unwrap_or_else(|| panic!("{} uses crate::{used}", source.name()));
            let forbidden = IGNORANT.iter().any(|(layer, not)| *layer == source.layer && not.contains(&used.as_str()));
            if used_place > own || forbidden {
                writeln!(faults, "{} is {} and uses {used}", source.name(), source.layer).unwrap();
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// The parts of one layer may not need each other in a circle. Files below a
/// part belong to it and share its types with each other as they like.
#[test]
fn no_circle_among_the_modules_of_a_layer() {
    let sources = sources();
    let part = |module: &str| module.split("::").take(2).collect::<Vec<_>>().join("::");
    let modules: BTreeSet<String> = sources.iter().map(|source| part(&source.module())).collect();
    let mut uses: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for source in &sources {
        let own = part(&source.module());
        for used in source.used_modules().iter().map(|path| part(path)) {
            let parts_of_one = own.contains("::") && modules.contains(&used) && used.contains("::");
            if parts_of_one && used != own {
                uses.entry(own.clone()).or_default().insert(used);
            }
        }
    }
    let mut done = BTreeSet::new();
    for module in uses.keys() {
        let mut open = Vec::new();
        if let Some(circle) = circle_from(module, &uses, &mut open, &mut done) {
            panic!("modules use each other in a circle: {}", circle.join(" → "));
        }
    }
}

fn circle_from(
    module: &str,
    uses: &BTreeMap<String, BTreeSet<String>>,
    open: &mut Vec<String>,
    done: &mut BTreeSet<String>,
) -> Option<Vec<String>> {
    if let Some(start) = open.iter().position(|known| known == module) {
        let mut circle = open[start..].to_vec();
        circle.push(module.to_owned());
        return Some(circle);
    }
    if done.contains(module) {
        return None;
    }
    open.push(module.to_owned());
    let circle = uses.get(module).into_iter().flatten().find_map(|used| circle_from(used, uses, open, done));
    open.pop();
    done.insert(module.to_owned());
    circle
}

#[test]
fn only_commands_touch_the_world() {
    const WORLD: [&str; 14] = [
        "println!",
        "eprintln!",
        "print!(",
        "eprint!(",
        "std::fs",
        "fs::read",
        "File::open",
        "std::env",
        "std::process",
        "Instant::now",
        "SystemTime",
        "std::net",
        "stdin()",
        "stdout()",
    ];
    let mut faults = String::new();
    for source in sources().iter().filter(|source| source.layer != "command" && source.layer != "main") {
        for (number, line) in source.code().lines().enumerate() {
            for touch in WORLD.iter().filter(|touch| line.contains(**touch)) {
                writeln!(faults, "{}:{}: {touch}", source.name(), number + 1).unwrap();
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn files_stay_short() {
    let too_long: Vec<String> = sources()
        .iter()
        .map(|source| (source.name(), source.code().lines().count()))
        .filter(|(_, lines)| *lines > MOST_LINES)
        .map(|(name, lines)| format!("{name}: {lines} lines before its tests"))
        .collect();
    assert!(too_long.is_empty(), "{too_long:#?}");
}

#[test]
fn every_module_says_what_it_does() {
    let silent: Vec<String> =
        sources().iter().filter(|source| !source.text.starts_with("//!")).map(Source::name).collect();
    assert!(silent.is_empty(), "without a head: {silent:#?}");
}

struct Source {
    path: PathBuf,
    layer: String,
    text: String,
}

impl Source {
    fn name(&self) -> String {
        format!("src/{}", self.path.display())
    }

    /// `check::words`
    fn module(&self) -> String {
        self.path
            .with_extension("")
            .components()
            .map(|part| part.as_os_str().to_string_lossy())
            .collect::<Vec<_>>()
            .join("::")
    }

    /// The text before the tests.
    fn code(&self) -> &str {
        let tests = ["#[cfg(test)]\nmod ", "#[cfg(test)]\n#[allow"];
        let end = tests.iter().filter_map(|mark| self.text.find(mark)).min().unwrap_or(self.text.len());
        &self.text[..end]
    }

    /// Files that `#[cfg(test)]` takes in: `check::correct::tests`.
    fn modules_for_tests(&self) -> Vec<String> {
        let marks = self.text.match_indices("#[cfg(test)]");
        let names = marks.filter_map(|(at, _)| {
            let declared = self.text[at..].lines().find(|line| !line.starts_with("#["))?;
            declared.strip_prefix("mod ")?.strip_suffix(';').map(str::to_owned)
        });
        names.map(|name| format!("{}::{name}", self.module())).collect()
    }

    fn used_layers(&self) -> BTreeSet<String> {
        self.used_modules().iter().filter_map(|path| path.split("::").next().map(str::to_owned)).collect()
    }

    /// Every path that begins with `crate::` or `super::`, from the crate's root, outside comments.
    fn used_modules(&self) -> BTreeSet<String> {
        let mut found = BTreeSet::new();
        let code: String = self
            .code()
            .lines()
            .map(|line| line.find("//").map_or(line, |at| &line[..at]))
            .collect::<Vec<_>>()
            .join("\n");
        let own: Vec<String> = self.module().split("::").map(str::to_owned).collect();
        for (start, _) in code.match_indices("crate::") {
            found.extend(paths(&code[start + "crate::".len()..]));
        }
        for (start, _) in code.match_indices("super::") {
            if code[..start].ends_with("super::") {
                continue;
            }
            let mut rest = &code[start..];
            let mut base = own.clone();
            while let Some(after) = rest.strip_prefix("super::") {
                base.pop();
                rest = after;
            }
            let base = base.join("::");
            found.extend(
                paths(rest).into_iter().map(|path| if base.is_empty() { path } else { format!("{base}::{path}") }),
            );
        }
        found
    }
}

/// The paths a `use` tree names: `a::{b, c::d}` is `a::b` and `a::c`.
fn paths(text: &str) -> Vec<String> {
    let end = text.find(|c: char| !c.is_alphanumeric() && c != '_' && c != ':').unwrap_or(text.len());
    let head = text[..end].trim_end_matches(':').to_owned();
    if !text[end..].starts_with('{') {
        return vec![head];
    }
    let mut depth = 0;
    let mut parts = vec![String::new()];
    for c in text[end..].chars() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 1 => parts.push(String::new()),
            c if depth == 1 => parts.last_mut().unwrap().push(c),
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
    let named = parts.iter().map(|part| part.trim()).filter(|part| !part.is_empty());
    named.map(|part| if head.is_empty() { part.to_owned() } else { format!("{head}::{part}") }).collect()
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut open = vec![root.clone()];
    while let Some(folder) = open.pop() {
        for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                let path = path.strip_prefix(&root).unwrap().to_owned();
                let first = path.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
                let layer = first.strip_suffix(".rs").unwrap_or(&first).to_owned();
                found.push(Source { path, layer, text });
            }
        }
    }
    // Modules that are there for tests only are not part of a layer.
    let for_tests: BTreeSet<String> = found.iter().flat_map(Source::modules_for_tests).collect();
    // Nor is what cargo runs before the crate is built.
    found.retain(|source| !for_tests.contains(&source.module()) && source.layer != "build");
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(found.len() > 50);
    found
}
