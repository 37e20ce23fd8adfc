//! C2: square and plumb: diagonals, corners, lean over height, double studs, corner faces.

use serde::{Deserialize, Serialize};

use crate::units::number::show;
use crate::units::{Bounds, OutOfRange};

/// Frames are measured between these, in millimetres.
const LEAST_MM: f64 = 1.0;
const MOST_MM: f64 = 200_000.0;

/// A measurement that can't be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is")]
pub enum SquareError {
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error(
        "diagonals of {} and {} mm can't be right for a frame {} wide and {} high: expect about {} each, or one longer \
         and the other shorter by the same amount. Measure again",
        show(*first_mm), show(*second_mm), show(*width_mm), show(*height_mm), show(square_mm.round())
    )]
    NoSuchFrame { first_mm: f64, second_mm: f64, width_mm: f64, height_mm: f64, square_mm: f64 },
    #[error(
        "diagonals of {} and {} mm are too short for a frame {} wide. Measure again, or give the width of what was \
         measured",
        show(*first_mm), show(*second_mm), show(*width_mm)
    )]
    TooShort { first_mm: f64, second_mm: f64, width_mm: f64 },
    #[error(
        "sides of {} and {} mm don't meet over {} mm: a square corner measures {} mm. Measure again",
        show(*along_mm), show(*across_mm), show(*diagonal_mm), show(square_mm.round())
    )]
    NoSuchCorner { along_mm: f64, across_mm: f64, diagonal_mm: f64, square_mm: f64 },
}

fn within(what: &'static str, unit: &'static str, (least, most): (f64, f64), given: f64) -> Result<f64, OutOfRange> {
    Bounds { what, unit, least, most }.check(given)
}

fn length(what: &'static str, given_mm: f64, least_mm: f64) -> Result<f64, OutOfRange> {
    within(what, "mm", (least_mm, MOST_MM), given_mm)
}

/// How far out of square a frame is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Racked {
    /// How far the top stands sideways of the bottom, in millimetres.
    pub out_mm: f64,
}

/// How far a frame is out of square in a height that a limit is given for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RackedOver {
    /// How far the top stands sideways of the bottom in that height, in millimetres.
    pub out_mm: f64,
    /// The height of the frame, in millimetres: as measured, or the length of its sides by the diagonals.
    pub height_mm: f64,
}

/// A frame as it was read off the tape.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrameRead {
    /// Both diagonals.
    pub diagonals_mm: [f64; 2],
    /// Its width: as measured, or the wall's length.
    pub width_mm: f64,
    /// Its height, where that was measured too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<f64>,
}

impl FrameRead {
    /// How far its top stands sideways of its bottom, from its two diagonals: |A² − B²| / (4 · width).
    ///
    /// The height checks the diagonals. In a racked frame A² + B² is twice the sum of the squares of its sides (the
    /// parallelogram law), so the mean of the squares tells a slip of the tape from a rack. Allowed for the tape and for
    /// the frame's own lengths: 10 mm or 0.3 % of the diagonal, whichever is more (common practice, no source). A height
    /// that was not measured follows from the diagonals by the same law.
    ///
    /// # Errors
    /// [`SquareError::OutOfRange`] for a length below 1 mm or above 200 m; [`SquareError::NoSuchFrame`];
    /// [`SquareError::TooShort`] for diagonals of no frame of that width.
    ///
    /// # Example
    /// ```
    /// use cladlog::setout::square::FrameRead;
    /// let frame = |first, second| FrameRead {
    ///     diagonals_mm: [first, second], width_mm: 3000.0, height_mm: Some(4000.0),
    /// };
    /// assert_eq!(frame(5000.0, 5000.0).racked().unwrap().out_mm, 0.0);
    /// assert_eq!(frame(5003.0, 4997.0).racked().unwrap().out_mm, 5.0);
    /// ```
    pub fn racked(&self) -> Result<Racked, SquareError> {
        let Self { diagonals_mm: [first_mm, second_mm], width_mm, .. } = *self;
        let height_mm = self.height_mm()?;
        length("width", width_mm, LEAST_MM)?;
        length("height", height_mm, LEAST_MM)?;
        length("diagonal", first_mm, LEAST_MM)?;
        length("diagonal", second_mm, LEAST_MM)?;
        // (A − B)(A + B) keeps the digits that A² − B² would lose.
        let out_mm = ((first_mm - second_mm) * (first_mm + second_mm)).abs() / (4.0 * width_mm);
        let measured = ((first_mm.powi(2) + second_mm.powi(2)) / 2.0).sqrt();
        let square_mm = width_mm.hypot(height_mm);
        // The height may be that of the studs, or plumb from bottom to top: the rack lies between the two.
        let plumb = square_mm.hypot(out_mm);
        let allowed = (0.003 * square_mm).max(10.0);
        if measured < square_mm - allowed || measured > plumb + allowed || out_mm >= height_mm {
            return Err(SquareError::NoSuchFrame { first_mm, second_mm, width_mm, height_mm, square_mm });
        }
        Ok(Racked { out_mm })
    }

    /// How far its top stands sideways of its bottom in `over_mm` of its height. To a hundredth of a millimetre, which is
    /// less than a tape reads.
    ///
    /// # Errors
    /// As [`FrameRead::racked`].
    ///
    /// # Example: a frame 6 m wide
    /// ```
    /// use cladlog::setout::square::FrameRead;
    /// let frame = FrameRead { diagonals_mm: [6552.0, 6566.0], width_mm: 6000.0, height_mm: None };
    /// let out = frame.out_of_square(2400.0).unwrap();
    /// assert_eq!((out.out_mm, out.height_mm.round()), (6.93, 2650.0));
    /// ```
    pub fn out_of_square(&self, over_mm: f64) -> Result<RackedOver, SquareError> {
        let height_mm = self.height_mm()?;
        let out_mm = self.racked()?.out_mm * over_mm / height_mm;
        Ok(RackedOver { out_mm: (out_mm * 100.0).round() / 100.0, height_mm })
    }

    /// As measured, or the length of its sides by the diagonals.
    fn height_mm(&self) -> Result<f64, SquareError> {
        let Self { diagonals_mm: [first_mm, second_mm], width_mm, .. } = *self;
        let squared = (first_mm.powi(2) + second_mm.powi(2)) / 2.0 - width_mm.powi(2);
        match self.height_mm.unwrap_or(squared.max(0.0).sqrt()) {
            height_mm if height_mm < LEAST_MM && self.height_mm.is_none() => {
                Err(SquareError::TooShort { first_mm, second_mm, width_mm })
            }
            height_mm => Ok(height_mm),
        }
    }
}

impl std::fmt::Display for FrameRead {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let [first, second] = self.diagonals_mm.map(show);
        write!(f, "diagonals {first} and {second} mm, frame {} mm wide", show(self.width_mm))?;
        self.height_mm.map_or(Ok(()), |height| write!(f, " and {} mm high", show(height)))
    }
}

/// How far the height of a frame may be from that of its wall's cladding, as a share; and the lowest storey that is built.
/// Common practice, no source.
const OFF_WALL: f64 = 0.1;
const LEAST_STOREY_MM: f64 = 2_100.0;

/// Whether a frame so high may be that of a wall, whose lowest and highest height are given: of the whole wall, or of one
/// of several storeys alike, since a tall wall is read storey by storey.
///
/// # Example
/// ```
/// use cladlog::setout::square::is_of_wall;
/// assert!(is_of_wall(2_500.0, (2_400.0, 2_700.0)) && is_of_wall(2_500.0, (5_100.0, 5_100.0)));
/// assert!(!is_of_wall(1_572.0, (2_400.0, 2_700.0)));
/// ```
pub fn is_of_wall(frame_mm: f64, (lowest_mm, highest_mm): (f64, f64)) -> bool {
    let storeys = (1u32..).map(f64::from);
    let mut storeys = storeys.take_while(|storeys| *storeys == 1.0 || highest_mm / storeys >= LEAST_STOREY_MM);
    let wall_mm = lowest_mm * (1.0 - OFF_WALL)..=highest_mm * (1.0 + OFF_WALL);
    storeys.any(|storeys| wall_mm.contains(&(frame_mm * storeys)))
}

/// A corner between two walls, checked with a tape (3-4-5).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Corner {
    /// What a square corner measures between the marks, in millimetres.
    pub square_mm: f64,
    /// How far the second mark stands off square, in millimetres; + where the corner is closed (less than a right angle).
    pub out_mm: f64,
    /// The angle between the walls, in degrees.
    pub angle_deg: f64,
}

/// A corner from a mark on each wall and the distance between the marks.
///
/// # Errors
/// [`SquareError`] for a length out of range, or three that form no triangle.
///
/// # Example: 3-4-5
/// ```
/// use cladlog::setout::square::corner;
/// assert_eq!(corner(3000.0, 4000.0, 5000.0).unwrap().out_mm, 0.0);
/// ```
pub fn corner(along_mm: f64, across_mm: f64, diagonal_mm: f64) -> Result<Corner, SquareError> {
    length("length along the first wall", along_mm, LEAST_MM)?;
    length("length along the second wall", across_mm, LEAST_MM)?;
    length("length between the marks", diagonal_mm, LEAST_MM)?;
    let square_mm = along_mm.hypot(across_mm);
    // The law of cosines: the second wall's share along the first.
    let out_mm = (square_mm - diagonal_mm) * (square_mm + diagonal_mm) / (2.0 * along_mm);
    if out_mm.abs() >= across_mm {
        return Err(SquareError::NoSuchCorner { along_mm, across_mm, diagonal_mm, square_mm });
    }
    Ok(Corner { square_mm, out_mm, angle_deg: (out_mm / across_mm).acos().to_degrees() })
}

/// How far a wall or a stud leans.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lean {
    /// Top from bottom, in millimetres; + where the top stands out.
    pub out_mm: f64,
    /// The same a metre of height, in millimetres.
    pub lean_mm_per_m: f64,
    /// The most that the height allows, in millimetres.
    pub most_mm: f64,
    /// Whether it is within that.
    pub ok: bool,
}

/// The lean over a height, from the gap to a plumb line or laser at bottom and top (a smaller gap stands out),
/// against a tolerance in millimetres a metre.
///
/// # Errors
/// [`SquareError::OutOfRange`] for a height below 1 mm or above 200 m, or a reading outside ±1 m.
///
/// # Example: 5 mm in 2.4 m
/// ```
/// use cladlog::setout::square::lean;
/// let wall = lean(2400.0, 50.0, 45.0, 5.0 / 2.4).unwrap();
/// assert_eq!((wall.out_mm, wall.ok), (5.0, true));
/// ```
pub fn lean(height_mm: f64, bottom_mm: f64, top_mm: f64, tolerance_mm_per_m: f64) -> Result<Lean, SquareError> {
    length("height", height_mm, LEAST_MM)?;
    within("reading at the bottom", "mm", (-1000.0, 1000.0), bottom_mm)?;
    within("reading at the top", "mm", (-1000.0, 1000.0), top_mm)?;
    within("tolerance", "mm per metre", (0.0, 1000.0), tolerance_mm_per_m)?;
    let out_mm = bottom_mm - top_mm;
    let most_mm = tolerance_mm_per_m * height_mm / 1000.0;
    // A nanometre for the division, so that what measures exactly the tolerance is within it.
    Ok(Lean { out_mm, lean_mm_per_m: out_mm / (height_mm / 1000.0), most_mm, ok: out_mm.abs() <= most_mm + 1e-6 })
}

/// What a panel edge has to bear on at a joint.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bearing {
    /// Timber behind the panel left of the joint, in millimetres from its edge.
    pub left_mm: f64,
    /// Timber behind the panel right of the joint, in millimetres from its edge.
    pub right_mm: f64,
    /// Whether both are at least what is needed.
    pub ok: bool,
}

/// Whether a joint has timber behind both panel edges, as a double stud gives it.
///
/// `studs_mm` are stud centre lines and `stud_mm` the thickness of each; studs that touch count as one piece.
/// `needed_mm` is the bearing that each panel edge needs, as the panel maker gives it.
///
/// # Errors
/// [`SquareError::OutOfRange`] for a length out of range.
pub fn double_stud(
    joint_mm: f64,
    joint_width_mm: f64,
    studs_mm: &[f64],
    stud_mm: f64,
    needed_mm: f64,
) -> Result<Bearing, SquareError> {
    length("joint", joint_mm, 0.0)?;
    length("joint width", joint_width_mm, 0.0)?;
    length("stud thickness", stud_mm, LEAST_MM)?;
    length("bearing", needed_mm, 0.0)?;
    for stud in studs_mm {
        length("stud", *stud, 0.0)?;
    }
    let mut studs = studs_mm.to_vec();
    studs.sort_by(f64::total_cmp);
    // Timber from one face of the edge on, as far as studs touch one another.
    let reach = |edge: f64, towards: f64, order: &mut dyn Iterator<Item = &f64>| {
        let mut reach = 0.0_f64;
        for centre in order {
            let (near, far) = ((centre - edge) * towards - stud_mm / 2.0, (centre - edge) * towards + stud_mm / 2.0);
            if near <= reach + 0.5 && far > reach {
                reach = far;
            }
        }
        reach
    };
    let left_mm = reach(joint_mm - joint_width_mm / 2.0, -1.0, &mut studs.iter().rev());
    let right_mm = reach(joint_mm + joint_width_mm / 2.0, 1.0, &mut studs.iter());
    // As in `lean`: what measures exactly what is needed is enough.
    Ok(Bearing { left_mm, right_mm, ok: left_mm.min(right_mm) >= needed_mm - 1e-6 })
}

/// Whether the two faces of a corner are true to the finished planes of their walls.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CornerFaces {
    /// The first wall's corner face from that wall's finished plane, in millimetres, + proud.
    pub first_mm: f64,
    /// The second wall's.
    pub second_mm: f64,
    /// Whether both are within tolerance.
    pub ok: bool,
}

/// The corner stud's two faces against the planes that the walls are packed to.
///
/// # Errors
/// [`SquareError::OutOfRange`] for a reading outside ±200 mm or a negative tolerance.
pub fn corner_faces(first_mm: f64, second_mm: f64, tolerance_mm: f64) -> Result<CornerFaces, SquareError> {
    within("first face", "mm", (-200.0, 200.0), first_mm)?;
    within("second face", "mm", (-200.0, 200.0), second_mm)?;
    within("tolerance", "mm", (0.0, 200.0), tolerance_mm)?;
    Ok(CornerFaces { first_mm, second_mm, ok: first_mm.abs().max(second_mm.abs()) <= tolerance_mm })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(width_mm: f64, height_mm: Option<f64>, diagonals_mm: [f64; 2]) -> FrameRead {
        FrameRead { diagonals_mm, width_mm, height_mm }
    }

    fn racked(width_mm: f64, height_mm: f64, first_mm: f64, second_mm: f64) -> Result<Racked, SquareError> {
        frame(width_mm, Some(height_mm), [first_mm, second_mm]).racked()
    }

    /// The frame racked by `s`: exact by Pythagoras.
    fn racked_by(width: f64, height: f64, s: f64) -> Racked {
        racked(width, height, (width + s).hypot(height), (width - s).hypot(height)).unwrap()
    }

    #[test]
    fn a_rack_is_found_from_its_diagonals() {
        for (width, height, s) in [(3000.0, 4000.0, 3.0), (2400.0, 1200.0, 3.0), (2400.0, 2700.0, 40.0)] {
            assert!((racked_by(width, height, s).out_mm - s).abs() < 1e-6);
        }
        // Studs that keep their length while they lean by 12°.
        let (s, h): (f64, f64) = (2700.0 * 0.2, 2700.0 * (1.0_f64 - 0.04).sqrt());
        let out = racked(2400.0, 2700.0, (s + 2400.0).hypot(h), (s - 2400.0).hypot(h)).unwrap().out_mm;
        assert!((out - s).abs() < 1e-6);
    }

    #[test]
    fn diagonals_of_no_such_frame_are_refused() {
        let said = racked(3000.0, 4000.0, 5000.0, 5200.0).unwrap_err().to_string();
        assert_eq!(
            said,
            "diagonals of 5000 and 5200 mm can't be right for a frame 3000 wide and 4000 high: expect about 5000 each, or \
             one longer and the other shorter by the same amount. Measure again"
        );
        assert!(racked(3000.0, 4000.0, 500.0, 500.0).is_err());
        assert!(racked(3000.0, 4000.0, 7000.0, 1000.0).is_err(), "a frame that lies flat");
        assert!(racked(3000.0, 4000.0, 5004.0, 5001.0).is_ok(), "a tape reads to a few millimetres");
        assert_eq!(racked(0.0, 4000.0, 1.0, 1.0).unwrap_err().to_string(), "width 0 mm is outside 1 to 200000 mm");
        assert!(racked(f64::NAN, 1.0, 1.0, 1.0).is_err());
    }

    #[test]
    fn the_height_follows_from_the_diagonals_and_a_limit_is_for_its_own_height() {
        // Corners laid out by hand: the top 12 mm sideways of the bottom in 3 m of plumb height, 5 m wide.
        let (along, up): (f64, f64) = (12.0, 3000.0);
        let (long, short) = ((5000.0 + along).hypot(up), (5000.0 - along).hypot(up));
        let found = frame(5000.0, None, [long, short]).out_of_square(2400.0).unwrap();
        let side = along.hypot(up);
        assert!((found.height_mm - side).abs() < 1e-6 && (found.out_mm - 12.0 * 2400.0 / side).abs() <= 0.005);
        assert_eq!(frame(5000.0, Some(3000.0), [short, long]).out_of_square(3000.0).unwrap().out_mm, 12.0);
        // A measured height finds a slip of the tape that the diagonals alone don't show.
        let slip = |height| frame(6000.0, height, [6700.0, 6702.0]).out_of_square(2400.0);
        assert!(slip(None).is_ok() && slip(Some(2650.0)).unwrap_err().to_string().contains("can't be right"));
        for (first, second) in [(5000.0, 5900.0), (6000.0, 6000.0), (f64::NAN, 1.0)] {
            let said = frame(6000.0, None, [first, second]).out_of_square(2400.0).unwrap_err().to_string();
            assert!(said.contains("too short for a frame 6000 wide"), "{said}");
        }
    }

    #[test]
    fn three_four_five() {
        // 3-4-5 is arithmetic; 6-8-10 the same, larger.
        assert_eq!(corner(6000.0, 8000.0, 10_000.0).unwrap().angle_deg, 90.0);
        let closed = corner(3000.0, 4000.0, 4990.0).unwrap();
        assert!((closed.out_mm - 16.65).abs() < 1e-9 && closed.angle_deg < 90.0);
        assert!(corner(3000.0, 4000.0, 7001.0).is_err());
    }

    #[test]
    fn double_studs_and_faces() {
        // Two 45 mm studs side by side under a 10 mm joint: 40 mm of timber each side.
        let double = double_stud(1200.0, 10.0, &[1222.5, 1177.5], 45.0, 35.0).unwrap();
        assert_eq!(double, Bearing { left_mm: 40.0, right_mm: 40.0, ok: true });
        let single = double_stud(1200.0, 10.0, &[1200.0], 45.0, 35.0).unwrap();
        assert_eq!(single, Bearing { left_mm: 17.5, right_mm: 17.5, ok: false });
        // 1200.1 - 4.7 - (1177.9 - 22.5) = 40, which floats miss by a hair.
        assert!(double_stud(1200.1, 9.4, &[1177.9, 1222.3], 45.0, 40.0).unwrap().ok);
        let none = double_stud(1200.0, 10.0, &[], 45.0, 35.0).unwrap();
        assert_eq!((none.left_mm, none.ok), (0.0, false));
        assert!(corner_faces(1.0, -2.0, 2.0).unwrap().ok);
        assert!(!corner_faces(1.0, -2.5, 2.0).unwrap().ok);
        // NZ: 5 mm in 2.4 m (NZS 3604 table 2.1, as BRANZ Build 184 cites it).
        assert!(!lean(2400.0, 50.0, 44.9, 5.0 / 2.4).unwrap().ok);
    }
}
