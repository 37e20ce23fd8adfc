//! Offcuts, as the kept cut plans leave them: what the next wall may start from.

use std::collections::BTreeSet;

use super::state::State;
use crate::building::SubjectIx;
use crate::materials::cuts::{Offcut, WallCuts};

/// What a wall's kept cut plan says about offcuts.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptCuts {
    /// The wall's key.
    pub wall: String,
    /// Offcuts of its own boards that were left.
    pub made: Vec<Offcut>,
    /// Ids of the offcuts that it uses.
    pub used: BTreeSet<String>,
}

impl State {
    /// What the kept cut plans say about offcuts, in building order.
    fn kept_cuts(&self) -> Vec<KeptCuts> {
        let of = |wall: SubjectIx| {
            let cuts = self.kept_for::<WallCuts>(wall)?.result;
            let key = self.subjects.get(wall).to_string();
            let used = cuts.offcuts_used().into_iter().collect();
            let own = format!("{key}/B");
            let made = cuts.offcuts_left.into_iter().filter(|offcut| offcut.id.starts_with(&own)).collect();
            Some(KeptCuts { wall: key, made, used })
        };
        self.subjects.all_walls().iter().copied().filter_map(of).collect()
    }

    /// For each of some walls that are to be cut, in building order: the offcuts that kept plans of other walls leave
    /// for it, and that no wall before it in the list has been given already.
    pub fn offcuts_found(&self, walls: &[String]) -> Vec<Vec<Offcut>> {
        let kept = self.kept_cuts();
        let others = || kept.iter().filter(|kept| !walls.contains(&kept.wall));
        let used: BTreeSet<&String> = others().flat_map(|kept| &kept.used).collect();
        let mut given: BTreeSet<&str> = BTreeSet::new();
        let order = self.subjects.all_walls();
        let place = |key: &str| order.iter().position(|wall| self.subjects.get(*wall).to_string() == key);
        let before = |wall: &String| {
            let free: Vec<&Offcut> = others()
                .filter(|kept| place(&kept.wall) < place(wall))
                .flat_map(|kept| &kept.made)
                .filter(|offcut| !used.contains(&offcut.id) && !given.contains(offcut.id.as_str()))
                .collect();
            given.extend(free.iter().map(|offcut| offcut.id.as_str()));
            free.into_iter().cloned().collect()
        };
        walls.iter().map(before).collect()
    }

    /// Kept plans that use an offcut of a wall which is now to be cut again: `(wall, id of the offcut)`.
    pub fn plans_depending_on(&self, walls: &[String]) -> Vec<(String, String)> {
        let made_by = |id: &String| walls.iter().any(|wall| id.starts_with(&format!("{wall}/B")));
        let kept = self.kept_cuts().into_iter().filter(|kept| !walls.contains(&kept.wall));
        kept.flat_map(|kept| kept.used.into_iter().filter(made_by).map(move |id| (kept.wall.clone(), id))).collect()
    }
}
