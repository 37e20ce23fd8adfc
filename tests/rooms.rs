//! The rooms of the library know only those below them, and no two files import one another in a ring.
//!
//! Every `use` and every path of `src` is read with `syn` and taken to the file that defines it. A `mod.rs` that hands
//! on what its files define is looked through: what counts is the file that the name comes from. Tests inside `src` may
//! import what they like.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use syn::visit::Visit;

use crate::harness::root;

/// From the top down: a room may import those further down, not those further up. Rooms in one row don't know one
/// another, but for those that [`ASIDE`] lets.
const ROOMS: &[&[&str]] = &[
    &["main"],
    &["lib"],
    &["cli"],
    &["office", "serve"],
    &["handover"],
    &["accounts", "journal"],
    &["day"],
    &["record"],
    &["sequence", "conditions", "sealing"],
    &["materials"],
    &["setout"],
    &["building"],
    &["photos", "form", "calendar"],
    &["refusal", "table", "svg", "stamp"],
    &["moment"],
    &["units", "plain", "index", "digest", "atomic_file"],
];

/// The floors of the rooms that have some, from the top down.
const INSIDE: &[(&str, &[&[&str]])] = &[
    ("day", &[&["views"], &["requests"], &["book"], &["replay"], &["rules"], &["state"], &["facts"]]),
    (
        "handover",
        &[
            &["verify", "reading_copy", "report"],
            &["pack"],
            &["files"],
            &["render"],
            &["sections"],
            &["page", "gather"],
            &["model", "signature"],
        ],
    ),
];

/// What stands in one row and still is imported: from, to.
const ASIDE: &[(&str, &str)] = &[];

#[test]
fn arrows_between_rooms_run_downward_only() {
    let floor_of = |room: &str| {
        ROOMS
            .iter()
            .position(|row| row.contains(&room))
            .unwrap_or_else(|| panic!("room '{room}' has no floor in ROOMS"))
    };
    let mut wrong = Vec::new();
    for (from, to) in HOUSE.imports() {
        let (above, below) = (room(from), room(to));
        if above != below && floor_of(above) >= floor_of(below) && !ASIDE.contains(&(above, below)) {
            wrong.push(format!("{from} imports {to}"));
        }
    }
    assert!(wrong.is_empty(), "arrows that point up or aside:\n{}", wrong.join("\n"));
}

#[test]
fn arrows_inside_a_room_run_downward_only() {
    let mut wrong = Vec::new();
    for (name, floors) in INSIDE {
        let inside = |file: &str| {
            let rest = file.strip_prefix(&format!("{name}/"))?;
            let part = rest.split('/').next().unwrap_or(rest);
            floors.iter().position(|row| row.contains(&part))
        };
        for (from, to) in HOUSE.imports() {
            if let (Some(above), Some(below)) = (inside(from), inside(to))
                && above > below
            {
                wrong.push(format!("{from} imports {to}"));
            }
        }
        for file in HOUSE.files.keys().filter(|file| room(file) == *name && file.contains('/')) {
            assert!(inside(file).is_some(), "{file} has no floor in INSIDE");
        }
    }
    assert!(wrong.is_empty(), "arrows that point up:\n{}", wrong.join("\n"));
}

#[test]
fn no_files_import_one_another_in_a_ring() {
    let rings = HOUSE.rings();
    let drawn: Vec<String> = rings.iter().map(|ring| ring.join(", ")).collect();
    assert!(rings.is_empty(), "{} rings:\n{}", rings.len(), drawn.join("\n"));
}

/// The first folder, or the file itself where it lies in `src`.
fn room(file: &str) -> &str {
    file.split('/').next().unwrap_or(file)
}

static HOUSE: LazyLock<House> = LazyLock::new(House::read);

/// A module path below the crate, such as `["day", "rules", "judge"]`.
type Module = Vec<String>;

/// The files of `src`, without `.rs` and with a folder's `mod` named like the folder, and the files each imports.
struct House {
    files: BTreeMap<String, BTreeSet<String>>,
}

impl House {
    fn read() -> Self {
        let mut read = BTreeMap::new();
        files_below(&root().join("src"), &mut Vec::new(), &mut read);
        let parsed: BTreeMap<Module, File> =
            read.into_iter().map(|(module, path)| (module, File::read(&path))).collect();
        let crate_root = ["lib".to_owned()].to_vec();
        let names = |module: &Module| {
            if module.is_empty() { "lib".to_owned() } else { module.join("/") }
        };
        let mut files = BTreeMap::new();
        for (module, file) in &parsed {
            let mut to = BTreeSet::new();
            for path in &file.paths {
                let at = if *module == crate_root { Module::new() } else { module.clone() };
                if let Some(target) = absolute(path, &at).and_then(|path| defining(&path, &parsed))
                    && target != *module
                    // What a file says of the files that it declares is no arrow.
                    && !target.starts_with(module)
                {
                    to.insert(names(&target));
                }
            }
            files.insert(names(module), to);
        }
        Self { files }
    }

    fn imports(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files.iter().flat_map(|(from, to)| to.iter().map(move |to| (from.as_str(), to.as_str())))
    }

    /// Sets of files each of which reaches every other: strongly connected components of two or more.
    fn rings(&self) -> Vec<Vec<&str>> {
        let reach: BTreeMap<&str, BTreeSet<&str>> =
            self.files.keys().map(|file| (file.as_str(), self.reached(file))).collect();
        let mut seen = BTreeSet::new();
        let mut rings = Vec::new();
        for (file, reached) in &reach {
            if !reached.contains(file) || !seen.insert(*file) {
                continue;
            }
            let ring: Vec<&str> = reached.iter().copied().filter(|other| reach[other].contains(file)).collect();
            seen.extend(&ring);
            rings.push(ring);
        }
        rings
    }

    /// All that a file imports, by whatever way; itself only where it stands in a ring.
    fn reached(&self, from: &str) -> BTreeSet<&str> {
        let mut reached = BTreeSet::new();
        let mut left: Vec<&str> = self.files[from].iter().map(String::as_str).collect();
        while let Some(file) = left.pop() {
            if reached.insert(file) {
                left.extend(self.files[file].iter().map(String::as_str));
            }
        }
        reached
    }
}

fn files_below(folder: &Path, at: &mut Module, read: &mut BTreeMap<Module, PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            at.push(stem);
            files_below(&path, at, read);
            at.pop();
        } else if path.extension().is_some_and(|end| end == "rs") {
            let own = stem != "mod";
            if own {
                at.push(stem);
            }
            read.insert(at.clone(), path);
            if own {
                at.pop();
            }
        }
    }
}

/// What one file says: the paths it uses, and the names it hands on from elsewhere.
struct File {
    paths: Vec<Vec<String>>,
    handed_on: BTreeMap<String, Vec<String>>,
    hands_on_all_of: Vec<Vec<String>>,
}

impl File {
    fn read(path: &Path) -> Self {
        let text = std::fs::read_to_string(path).unwrap();
        let parsed = syn::parse_file(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let mut file = Self { paths: Vec::new(), handed_on: BTreeMap::new(), hands_on_all_of: Vec::new() };
        file.visit_file(&parsed);
        file
    }

    fn take(&mut self, tree: &syn::UseTree, before: &mut Vec<String>, public: bool) {
        match tree {
            syn::UseTree::Path(path) => {
                before.push(path.ident.to_string());
                self.take(&path.tree, before, public);
                before.pop();
            }
            syn::UseTree::Group(group) => group.items.iter().for_each(|item| self.take(item, before, public)),
            syn::UseTree::Glob(_) => {
                self.paths.push(before.clone());
                if public {
                    self.hands_on_all_of.push(before.clone());
                }
            }
            syn::UseTree::Name(name) => self.name(&name.ident.to_string(), &name.ident.to_string(), before, public),
            syn::UseTree::Rename(name) => self.name(&name.ident.to_string(), &name.rename.to_string(), before, public),
        }
    }

    fn name(&mut self, from: &str, to: &str, before: &[String], public: bool) {
        let mut path = before.to_vec();
        if from != "self" {
            path.push(from.to_owned());
        }
        if public {
            self.handed_on.insert(to.to_owned(), path);
        } else {
            self.paths.push(path);
        }
    }
}

fn is_test(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        let syn::Meta::List(list) = &attribute.meta else { return false };
        list.path.is_ident("cfg") && list.tokens.to_string() == "test"
    })
}

impl<'ast> Visit<'ast> for File {
    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if !is_test(&item.attrs) {
            syn::visit::visit_item_mod(self, item);
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let public = !matches!(item.vis, syn::Visibility::Inherited);
        if !is_test(&item.attrs) {
            self.take(&item.tree, &mut Vec::new(), public);
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.paths.push(path.segments.iter().map(|segment| segment.ident.to_string()).collect());
        syn::visit::visit_path(self, path);
    }
}

/// The path below the crate that `path` means in the module `at`; none where it leads out of the crate.
fn absolute(path: &[String], at: &Module) -> Option<Vec<String>> {
    let (first, rest) = path.split_first()?;
    match first.as_str() {
        "crate" | "cladlog" => Some(rest.to_vec()),
        "self" => Some([at.as_slice(), rest].concat()),
        "super" => {
            let mut base = at.clone();
            base.pop()?;
            let ups = rest.iter().take_while(|part| *part == "super").count();
            base.truncate(base.len().checked_sub(ups)?);
            Some([base.as_slice(), &rest[ups..]].concat())
        }
        _ => None,
    }
}

/// The file that defines what the path names, through whatever hands it on.
fn defining(path: &[String], files: &BTreeMap<Module, File>) -> Option<Module> {
    let depth = (0..=path.len()).rev().find(|depth| files.contains_key(&path[..*depth]))?;
    let module = path[..depth].to_vec();
    let Some(name) = path.get(depth) else { return Some(module) };
    let file = &files[&module];
    let follow = |to: &[String], rest: &[String]| {
        let target = absolute(to, &module).or_else(|| {
            // `pub use judge::Verdict` in a `mod.rs` starts at a file beside it.
            let below = [module.as_slice(), to].concat();
            files.contains_key(&below[..=module.len()]).then_some(below)
        })?;
        defining(&[target.as_slice(), rest].concat(), files)
    };
    if let Some(to) = file.handed_on.get(name) {
        return follow(to, &path[depth + 1..]).or(Some(module));
    }
    let from_all = file.hands_on_all_of.iter().find_map(|to| {
        let target = follow(to, &path[depth..])?;
        (target != module).then_some(target)
    });
    from_all.or(Some(module))
}
