//! A window or door as the set-out sums see it.

use serde::Serialize;

/// A window or door in its wall, in millimetres: along from the framing's left end, up from the datum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WallOpening {
    /// Its left side.
    pub from_mm: f64,
    /// Its right side.
    pub to_mm: f64,
    /// Its bottom edge; without one it reaches down to the ground.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sill_mm: Option<f64>,
    /// Its top edge; without one it reaches up past the cladding.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub head_mm: Option<f64>,
}

impl WallOpening {
    /// Whether a stud centred at a place can't run past it: it stands in it, or half in it on its side.
    pub fn stops_stud(&self, stud_mm: f64) -> bool {
        self.from_mm <= stud_mm && stud_mm <= self.to_mm
    }
}
