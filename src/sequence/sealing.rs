//! How joints are sealed, as the seal plan needs it: what the file says, or else what is usual.

use chrono::TimeDelta;

use super::model::{Basis, CountsFrom, LastLight, Sealing, Sequence, Step, StepIx, Window};
use crate::building::SubjectKind;
use crate::index::Indexed;

/// Minutes a metre where a sequence says nothing; common practice, no source.
const USUAL: [f64; 4] = [1.5, 0.5, 2.0, 0.5];
/// The tape comes off this soon where no window says.
const USUAL_TAPE_OFF: TimeDelta = TimeDelta::minutes(15);

/// How joints are sealed where the file does not say: by steps on joints with the keys `mask`, `prime`, `gun` and `tape-off`,
/// at the usual rates. `None` where there are none, or no window runs from priming to gunning.
pub(super) fn usual(steps: &Indexed<Step>, windows: &Indexed<Window>) -> Option<Sealing> {
    let on_joint = |key: &str| steps.index_of(|step| step.key == key && step.on == [SubjectKind::Joint]);
    let (prime, gun) = (on_joint("prime")?, on_joint("gun")?);
    let window = windows.index_of(|window| window.from == prime && window.to == gun)?;
    let tape_off = on_joint("tape-off");
    let [mask_min_per_m, prime_min_per_m, gun_min_per_m, tape_off_min_per_m] = USUAL;
    Some(Sealing {
        mask: on_joint("mask"),
        prime,
        gun,
        tape_off,
        window,
        mask_min_per_m,
        prime_min_per_m,
        gun_min_per_m,
        tape_off_min_per_m,
        tape_off_within: None,
        from_bead: from_bead(windows, gun, tape_off),
        margin: None,
        dry_after: TimeDelta::zero(),
        dry_before: None,
        knock_off: None,
        in_sun: false,
        last_light: LastLight::Sunset,
        basis: Basis::CommonPractice("a metre masked in 1.5 min, primed and untaped in 0.5, gunned in 2".to_owned()),
    })
}

/// Whether the window from gunning to the tape coming off counts from the beginning of the bead.
pub(super) fn from_bead(windows: &[Window], gun: StepIx, tape_off: Option<StepIx>) -> bool {
    let ends = |window: &&Window| window.from == gun && Some(window.to) == tape_off;
    windows.iter().find(ends).is_some_and(|window| window.counts_from == CountsFrom::Beginning)
}

impl Sequence {
    /// How soon the tape comes off after gunning: what the file says, or what the window in force leaves less its warning,
    /// or what is usual.
    pub fn tape_off_within(&self, sealing: &Sealing) -> TimeDelta {
        let found = |window: &&Window| window.from == sealing.gun && Some(window.to) == sealing.tape_off;
        let left = || self.windows.iter().find(found).and_then(|window| Some(window.latest? - window.warn));
        sealing.tape_off_within.or_else(left).unwrap_or(USUAL_TAPE_OFF).max(TimeDelta::zero())
    }
}

impl Window {
    /// The bounds at these surface temperatures, °C, on the safe side: between two rows of the table the stricter one,
    /// outside it and for what was not read the strictest; without a table the window's own.
    pub fn bounds_at(&self, surfaces: &[Option<f64>]) -> (Option<TimeDelta>, Option<TimeDelta>) {
        let rows = &self.by_surface;
        if rows.is_empty() {
            return (self.earliest, self.latest);
        }
        let mut counted = vec![surfaces.is_empty(); rows.len()];
        for surface in surfaces {
            match surface.and_then(|surface| rows.iter().position(|row| row.surface_c >= surface)) {
                Some(at) if Some(rows[at].surface_c) == *surface => counted[at] = true,
                Some(at) if at > 0 => {
                    counted[at - 1] = true;
                    counted[at] = true;
                }
                _ => counted.fill(true),
            }
        }
        let rows: Vec<_> = rows.iter().zip(&counted).filter(|(_, counted)| **counted).map(|(row, _)| row).collect();
        let earliest = rows.iter().filter_map(|row| row.earliest.or(self.earliest)).max();
        let latest = rows.iter().filter_map(|row| row.latest.or(self.latest)).min();
        (earliest, latest)
    }
}
