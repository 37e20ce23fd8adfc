//! C8, the take-off: from the numbers of the set-out to what to order, each line with its rule and its waste.
//!
//! Every rule is arithmetic that a crew lead can redo on paper. What a panel maker prescribes (clips a stud, sealer a
//! metre, sealant a joint) is a number of [`Allowances`]: it comes from the sequence, never from here.

use serde::{Deserialize, Serialize};

use crate::units::{Bounds, OutOfRange};

/// How many of anything one wall may have.
const COUNT: Bounds = Bounds { what: "count", unit: "pieces", least: 0.0, most: 1_000_000.0 };
/// Metres of anything on one wall.
const METRES: Bounds = Bounds { what: "metres", unit: "m", least: 0.0, most: 100_000.0 };
/// Waste on top of what is measured.
const WASTE: Bounds = Bounds { what: "waste", unit: "%", least: 0.0, most: 100.0 };
/// How much of something goes with something else.
const RATE: Bounds = Bounds { what: "rate", unit: "each", least: 0.0, most: 10_000.0 };
/// The size of a pack, tin, roll or length.
const PACK: Bounds = Bounds { what: "pack", unit: "each", least: 0.001, most: 1_000_000.0 };

/// The numbers of one wall's set-out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct WallQuantities {
    /// The wall's key.
    pub wall: String,
    /// Boards, from the cut plan.
    pub boards: u32,
    /// Courses, from the storey rod.
    pub courses: u32,
    /// Columns of panels.
    pub columns: u32,
    /// Vertical movement joints between columns.
    pub joints: u32,
    /// Joints all together, in metres of height.
    pub joint_m: f64,
    /// Studs that panels are clipped to, double studs at joints counted as two.
    pub studs: u32,
    /// The starter line, in metres, door openings taken out.
    pub starter_m: f64,
    /// Outside and inside corners that this wall is charged with.
    pub corners: u32,
    /// Corners all together, in metres of height.
    pub corner_m: f64,
    /// Openings.
    pub openings: u32,
    /// Round all openings, in metres: sealed where panels meet them.
    pub opening_edge_m: f64,
    /// Edges cut on site, in metres, from the panels and the cut plan.
    pub cut_edge_m: f64,
    /// Packers by size, from the packing plan: `(mm, how many)`.
    pub packers: Vec<(f64, u32)>,
}

/// What goes with what, and what it is bought in. The sequence sets these; [`Allowances::default`] is common
/// practice, without a source, to be replaced by the maker's instructions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Allowances {
    /// Boards in a bundle.
    pub boards_in_bundle: f64,
    /// The length that starter is bought in.
    pub starter_length_m: f64,
    /// Clips where a stud meets a course.
    pub clips_at_stud: f64,
    /// Clips in a box.
    pub clips_in_box: f64,
    /// The length that corner pieces are bought in.
    pub corner_length_m: f64,
    /// The length that joint backers are bought in.
    pub backer_length_m: f64,
    /// Fixings (nails or screws) in a clip.
    pub fixings_in_clip: f64,
    /// Fixings in a metre of starter.
    pub fixings_in_starter_m: f64,
    /// Fixings in a box.
    pub fixings_in_box: f64,
    /// Packers in a bag.
    pub packers_in_bag: f64,
    /// Metres of cut edge that a litre of edge sealer covers.
    pub edge_m_in_litre: f64,
    /// Litres of edge sealer in a tin.
    pub sealer_tin_l: f64,
    /// Metres of joint that a tin of primer does, both sides.
    pub joint_m_in_primer_tin: f64,
    /// Millilitres of sealant in a metre of joint: width times depth in millimetres.
    pub sealant_ml_in_m: f64,
    /// Millilitres in a cartridge.
    pub cartridge_ml: f64,
    /// Runs of masking tape along a joint.
    pub tape_runs: f64,
    /// Metres of tape in a roll.
    pub tape_roll_m: f64,
    /// Waste on whole pieces (boards are exact: their waste stands in the cut plan), in per cent.
    pub waste_pieces_pct: f64,
    /// Waste on lengths, in per cent.
    pub waste_lengths_pct: f64,
    /// Waste on what comes wet, in per cent.
    pub waste_wet_pct: f64,
}

impl Default for Allowances {
    fn default() -> Self {
        Self {
            boards_in_bundle: 1.0,
            starter_length_m: 3.0,
            clips_at_stud: 1.0,
            clips_in_box: 100.0,
            corner_length_m: 3.0,
            backer_length_m: 3.0,
            fixings_in_clip: 2.0,
            fixings_in_starter_m: 2.5,
            fixings_in_box: 500.0,
            packers_in_bag: 100.0,
            edge_m_in_litre: 60.0,
            sealer_tin_l: 0.5,
            joint_m_in_primer_tin: 50.0,
            sealant_ml_in_m: 100.0,
            cartridge_ml: 300.0,
            tape_runs: 2.0,
            tape_roll_m: 50.0,
            waste_pieces_pct: 5.0,
            waste_lengths_pct: 5.0,
            waste_wet_pct: 10.0,
        }
    }
}

/// One line of the order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakeoffLine {
    /// What it is, such as `clips`.
    pub item: String,
    /// How much the set-out needs, without waste.
    pub needed: f64,
    /// The unit of that: `m`, `pieces`, `litres`, `ml`.
    pub unit: String,
    /// Waste on top, in per cent.
    pub waste_pct: f64,
    /// How many to order, in whole units of `sold_as`.
    pub order: u64,
    /// What it is sold as, such as `box of 100`.
    pub sold_as: String,
    /// How the needed quantity was found, in words and numbers.
    pub rule: String,
}

/// Why no take-off can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TakeoffFault {
    /// Nothing to take off.
    #[error("there is no wall to take off")]
    NoWall,
    /// A number of a wall out of its range.
    #[error("wall {wall}: {field}: {fault}")]
    Wall {
        /// The wall's key.
        wall: String,
        /// Which number.
        field: &'static str,
        /// What is out of range.
        fault: OutOfRange,
    },
    /// An allowance out of its range.
    #[error("allowance {field}: {fault}")]
    Allowance {
        /// Which allowance.
        field: &'static str,
        /// What is out of range.
        fault: OutOfRange,
    },
}

/// Takes off what some walls need together.
///
/// Quantities are added over the walls before anything is rounded up to whole packs, so that two walls share a box.
/// Lines whose need is nought are left out.
///
/// # Errors
/// [`TakeoffFault`] when there is no wall, or a number is negative, not a number or absurdly large.
///
/// # Example
/// ```
/// use cladlog::materials::takeoff::{Allowances, WallQuantities, take_off};
/// let wall = WallQuantities { wall: "N".into(), studs: 12, courses: 8, ..WallQuantities::default() };
/// let lines = take_off(&[wall], &Allowances::default()).unwrap();
/// let clips = lines.iter().find(|line| line.item == "clips").unwrap();
/// // 12 studs x 8 courses, 5 % waste: 100.8, so two boxes of 100.
/// assert_eq!((clips.needed, clips.order), (96.0, 2));
/// ```
pub fn take_off(walls: &[WallQuantities], allow: &Allowances) -> Result<Vec<TakeoffLine>, TakeoffFault> {
    if walls.is_empty() {
        return Err(TakeoffFault::NoWall);
    }
    check_allowances(allow)?;
    walls.iter().try_for_each(check_wall)?;
    let count = |of: fn(&WallQuantities) -> u32| walls.iter().map(|wall| f64::from(of(wall))).sum::<f64>();
    let metres = |of: fn(&WallQuantities) -> f64| walls.iter().map(of).sum::<f64>();
    let (pieces, lengths, wet) = (allow.waste_pieces_pct, allow.waste_lengths_pct, allow.waste_wet_pct);
    let mut lines = Vec::new();

    let boards = count(|wall| wall.boards);
    lines.push(line("boards", boards, "pieces", 0.0, allow.boards_in_bundle, "bundle", "boards of the cut plan"));

    let starter = metres(|wall| wall.starter_m);
    lines.push(line("starter", starter, "m", lengths, allow.starter_length_m, "length", "starter line, doors out"));

    let crossings: f64 = walls.iter().map(|wall| f64::from(wall.studs) * f64::from(wall.courses)).sum();
    let clips = crossings * allow.clips_at_stud;
    let rule = format!("studs x courses, {} a crossing", number(allow.clips_at_stud));
    lines.push(line("clips", clips, "pieces", pieces, allow.clips_in_box, "box", &rule));

    let corner = metres(|wall| wall.corner_m);
    let rule = format!("height of {} corners", number(count(|wall| wall.corners)));
    lines.push(line("corner pieces", corner, "m", lengths, allow.corner_length_m, "length", &rule));

    let joint = metres(|wall| wall.joint_m);
    let rule = format!("height of {} joints", number(count(|wall| wall.joints)));
    lines.push(line("joint backers", joint, "m", lengths, allow.backer_length_m, "length", &rule));

    lines.extend(packers(walls, allow));

    let fixings = clips * allow.fixings_in_clip + starter * allow.fixings_in_starter_m;
    let rule =
        format!("{} a clip, {} a metre of starter", number(allow.fixings_in_clip), number(allow.fixings_in_starter_m));
    lines.push(line("fixings", fixings, "pieces", pieces, allow.fixings_in_box, "box", &rule));

    let edge = metres(|wall| wall.cut_edge_m);
    let rule = format!("{} m of cut edge, a litre to {} m", number(edge), number(allow.edge_m_in_litre));
    let litres = edge / allow.edge_m_in_litre;
    lines.push(line("edge sealer", litres, "litres", wet, allow.sealer_tin_l, "tin", &rule));

    let sealed = joint + metres(|wall| wall.opening_edge_m);
    let along = format!("{} m of joint and round openings", number(sealed));
    lines.push(line("primer", sealed, "m", wet, allow.joint_m_in_primer_tin, "tin", &along));

    let rule = format!("{along}, {} ml a metre", number(allow.sealant_ml_in_m));
    let sealant = sealed * allow.sealant_ml_in_m;
    lines.push(line("sealant", sealant, "ml", wet, allow.cartridge_ml, "cartridge", &rule));

    let rule = format!("{along}, {} runs", number(allow.tape_runs));
    lines.push(line("tape", sealed * allow.tape_runs, "m", lengths, allow.tape_roll_m, "roll", &rule));

    lines.retain(|line| line.needed > 0.0);
    Ok(lines)
}

/// One line a size, smallest first.
fn packers(walls: &[WallQuantities], allow: &Allowances) -> Vec<TakeoffLine> {
    let mut sizes: Vec<(f64, f64)> = Vec::new();
    for &(size, count) in walls.iter().flat_map(|wall| &wall.packers) {
        match sizes.iter_mut().find(|held| held.0 == size) {
            Some(held) => held.1 += f64::from(count),
            None => sizes.push((size, f64::from(count))),
        }
    }
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let one = |(size, count): (f64, f64)| {
        let item = format!("packers {} mm", number(size));
        line(&item, count, "pieces", allow.waste_pieces_pct, allow.packers_in_bag, "bag", "packing plan")
    };
    sizes.into_iter().map(one).collect()
}

fn line(item: &str, needed: f64, unit: &str, waste_pct: f64, pack: f64, sold: &str, rule: &str) -> TakeoffLine {
    // A hair less than a whole pack is a whole pack: 1.1 x 100 must not come to 111.
    let order = (needed * (100.0 + waste_pct) / 100.0 / pack - 1e-9).ceil().max(0.0) as u64;
    let sold_as = format!("{sold} of {} {unit}", number(pack));
    TakeoffLine {
        item: item.to_owned(),
        needed,
        unit: unit.to_owned(),
        waste_pct,
        order,
        sold_as,
        rule: rule.to_owned(),
    }
}

fn number(value: f64) -> String {
    crate::units::number::show(value)
}

fn check_wall(wall: &WallQuantities) -> Result<(), TakeoffFault> {
    let about = |field| move |fault| TakeoffFault::Wall { wall: wall.wall.clone(), field, fault };
    let counts = [
        ("boards", wall.boards),
        ("courses", wall.courses),
        ("columns", wall.columns),
        ("joints", wall.joints),
        ("studs", wall.studs),
        ("corners", wall.corners),
        ("openings", wall.openings),
    ];
    for (field, value) in counts {
        COUNT.check(f64::from(value)).map_err(about(field))?;
    }
    let lengths = [
        ("joint_m", wall.joint_m),
        ("starter_m", wall.starter_m),
        ("corner_m", wall.corner_m),
        ("opening_edge_m", wall.opening_edge_m),
        ("cut_edge_m", wall.cut_edge_m),
    ];
    for (field, value) in lengths {
        METRES.check(value).map_err(about(field))?;
    }
    for &(size, count) in &wall.packers {
        PACK.check(size).map_err(about("packers"))?;
        COUNT.check(f64::from(count)).map_err(about("packers"))?;
    }
    Ok(())
}

fn check_allowances(allow: &Allowances) -> Result<(), TakeoffFault> {
    let checks = [
        ("boards_in_bundle", &PACK, allow.boards_in_bundle),
        ("starter_length_m", &PACK, allow.starter_length_m),
        ("clips_at_stud", &RATE, allow.clips_at_stud),
        ("clips_in_box", &PACK, allow.clips_in_box),
        ("corner_length_m", &PACK, allow.corner_length_m),
        ("backer_length_m", &PACK, allow.backer_length_m),
        ("fixings_in_clip", &RATE, allow.fixings_in_clip),
        ("fixings_in_starter_m", &RATE, allow.fixings_in_starter_m),
        ("fixings_in_box", &PACK, allow.fixings_in_box),
        ("packers_in_bag", &PACK, allow.packers_in_bag),
        ("edge_m_in_litre", &PACK, allow.edge_m_in_litre),
        ("sealer_tin_l", &PACK, allow.sealer_tin_l),
        ("joint_m_in_primer_tin", &PACK, allow.joint_m_in_primer_tin),
        ("sealant_ml_in_m", &RATE, allow.sealant_ml_in_m),
        ("cartridge_ml", &PACK, allow.cartridge_ml),
        ("tape_runs", &RATE, allow.tape_runs),
        ("tape_roll_m", &PACK, allow.tape_roll_m),
        ("waste_pieces_pct", &WASTE, allow.waste_pieces_pct),
        ("waste_lengths_pct", &WASTE, allow.waste_lengths_pct),
        ("waste_wet_pct", &WASTE, allow.waste_wet_pct),
    ];
    for (field, bounds, value) in checks {
        bounds.check(value).map_err(|fault| TakeoffFault::Allowance { field, fault })?;
    }
    Ok(())
}
