//! `cladlog calc panels`: every piece of a wall, from a file or from the columns and courses that the job has kept.

use std::path::PathBuf;

use clap::Args;

use super::columns::ends;
use super::courses::{base_of, top_of};
use super::cuts_job::all_walls;
use super::outcome::Outcome;
use crate::building::Ends;
use crate::cli::failure::Failure;
use crate::cli::input::{MM, read_toml};
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Site;
use crate::form::{List, Section, outline, table, tables};
use crate::plain::count;
use crate::setout::columns::Gap;
use crate::setout::marks::MarkError;
use crate::setout::of_job::taken_as_nothing;
use crate::setout::outline::Outline;
use crate::setout::panels::{
    Gaps, Notch, Panels, PanelsError, Piece, SetOut, WallOpening, columns_between, even_courses,
};
use crate::units::number::{show, show_mm, show_to};

/// Every piece of a wall: outline, rip, notches, angles, area, cut edge
#[derive(Debug, Args)]
#[command(after_help = format!("\
FILE is TOML, lengths in mm from the framing's left corner as seen from outside, heights in mm above the datum:
{}

Without FILE columns and courses are those kept in the job's record, or else worked out from the job; the range of \
starts is that of the starter line in the record.

Example: cladlog calc panels --wall N", outline(read)))]
pub struct PanelsArgs {
    /// The wall, as TOML
    #[arg(conflicts_with_all = ["wall", "keep"])]
    file: Option<PathBuf>,
    /// The wall of the job [default: every wall]
    #[arg(long, value_name = "KEY")]
    wall: Option<String>,
    /// Keep inputs and result in the job's record
    #[arg(long)]
    keep: bool,
}

/// The inputs as a file gives them.
fn read(f: &Section<'_>) -> SetOut {
    let length_mm = f.required("length_mm", MM, "length of the framing");
    let given_ends = f.optional("ends", table("ends", ends), "what is taken at either end; 0").unwrap_or_default();
    let top = top_of(f);
    let base = base_of(f).unwrap_or_else(|| Outline::level(0.0));
    let (courses_mm, board_height_mm) = read_courses(f, &top);
    let gap_mm = f.or_default("gap_mm", MM, "gap left and right of an opening; 0");
    SetOut {
        length_mm,
        columns: read_columns(f, length_mm, given_ends, courses_mm.len()),
        courses_mm,
        board_height_mm,
        top,
        base: Some(base),
        openings: f.or_default("openings", tables("opening", opening), "what cladding stops at"),
        floors: Vec::new(),
        gaps: Gaps {
            lift_in_mm: f.or_default("lift_in_mm", MM, "what is left free under the top; 0"),
            base_gap_mm: f.or_default("base_gap_mm", MM, "gap over the base; 0"),
            step_gap_mm: f.or_default("step_gap_mm", MM, "gap beside an upright step of top or base; 0"),
            gap_mm,
            head_gap_mm: f.optional("head_gap_mm", MM, "gap over a head; gap_mm").unwrap_or(gap_mm),
            sill_gap_mm: f.optional("sill_gap_mm", MM, "gap under a sill; gap_mm").unwrap_or(gap_mm),
        },
        panel_mm: f.optional("panel_mm", MM, "length of a whole panel: a piece as long keeps both its ends"),
        least_piece_mm: f.optional("least_piece_mm", MM, "pieces shorter or lower are named"),
    }
}

/// An opening with its sill and its head.
pub fn opening(f: &Section<'_>) -> WallOpening {
    WallOpening {
        from_mm: f.required("from_mm", MM, "left side"),
        to_mm: f.required("to_mm", MM, "right side"),
        sill_mm: f.optional("sill_mm", MM, "height of the sill; without one it reaches the ground"),
        head_mm: f.optional(
            "head_mm",
            MM,
            "height of the head, or the top of its flashing; without one it reaches the top",
        ),
    }
}

/// The line of each course, and the height of a board.
fn read_courses(f: &Section<'_>, top: &Outline) -> (Vec<f64>, f64) {
    let start = f.optional("start_mm", MM, "the starter line");
    let overhang_mm: f64 = f.or_default("overhang_mm", MM, "how far the panel hangs below the start; 0");
    let cover = f.optional("cover_mm", MM, "height that one course gains");
    let lap_mm = f.or_default("lap_mm", MM, "how far a board reaches up behind the next; 0");
    let lines = f.optional("courses_mm", List(MM), "or, instead of these, the line of each course");
    let board = f.optional("board_height_mm", MM, "and the height of a board, its lap with it");
    match (start.zip(cover), lines.zip(board)) {
        (Some((start, cover)), None) if !f.has("courses_mm") => even_courses(start - overhang_mm, cover, lap_mm, top)
            .unwrap_or_else(|error| {
                f.mistake_in("cover_mm", error.to_string());
                Default::default()
            }),
        (None, Some(given)) if start.is_none() => given,
        _ => {
            f.mistake("give 'start_mm' and 'cover_mm', or 'courses_mm' and 'board_height_mm'");
            Default::default()
        }
    }
}

/// The columns of each course, or one list for all.
fn read_columns(f: &Section<'_>, length_mm: f64, ends: Ends, courses: usize) -> Vec<Vec<Gap>> {
    let (left, right) = (ends.left_mm, length_mm - ends.right_mm);
    let joint_mm = f.or_default("joint_mm", MM, "width of a joint; 0");
    let all = f.optional("joints_mm", List(MM), "centres of the joints");
    let by_course = f.optional("course_joints_mm", List(List(MM)), "or those of each course, for staggered boards");
    if f.has("ends") && left >= right {
        let error = MarkError::NothingLeft { ends_mm: left + length_mm - right, length_mm };
        f.mistake_in("ends", error.to_string());
        return Vec::new();
    }
    let columns = |key: &str, joints: &[f64]| {
        let between = columns_between(left, right, joints, joint_mm);
        if let Some(place) = between.iter().position(|column| column.from_mm >= column.to_mm) {
            let joint = joints.get(place).or(joints.last()).copied().unwrap_or_default();
            let why = "joints lie between the wall's ends, from left to right, a joint's width apart";
            f.mistake_in(key, format!("the joint at {} mm leaves no column: {why}", show(joint)));
        }
        between
    };
    match (all, by_course) {
        (Some(_), Some(_)) => {
            f.mistake_in("joints_mm", "give 'joints_mm' or 'course_joints_mm', not both");
            Vec::new()
        }
        (None, Some(lists)) if lists.len() != courses => {
            f.mistake_in("course_joints_mm", PanelsError::Lists { lists: lists.len(), courses }.to_string());
            Vec::new()
        }
        (None, Some(lists)) => lists.iter().map(|joints| columns("course_joints_mm", joints)).collect(),
        (joints, None) => vec![columns("joints_mm", &joints.unwrap_or_default())],
    }
}

pub fn panels(args: &PanelsArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    let counted = |set_out: &SetOut, name: &str, on: Option<&str>| {
        let panels = crate::setout::panels::panels(set_out);
        let panels = panels.map_err(|error| Failure::input(format!("{name}: {error}")))?;
        if panels.pieces.is_empty() {
            let why = "nothing to cut: no course has a piece below the top and beside the openings";
            return Err(Failure::input(format!("{name}: {why}")));
        }
        Outcome::new(&panels, text(&panels))?.keep_for(on, set_out, &panels)
    };
    if let Some(file) = &args.file {
        return counted(&read_toml(file, "wall", read)?, &file.display().to_string(), None);
    }
    let opened = site.open()?;
    let state = &opened.book.state;
    let of_wall = |key: &str| {
        let outcome = counted(&state.set_out(key)?, &format!("wall {key}"), args.keep.then_some(key))?;
        Ok(outcome.note(state.job.wall(key).and_then(|wall| taken_as_nothing(&state.job, wall))))
    };
    match &args.wall {
        Some(key) => of_wall(key),
        None => Outcome::of_walls(all_walls(&opened), of_wall),
    }
}

fn text(panels: &Panels) -> String {
    let notch = |n: &Notch| {
        let [length, height, left, bottom] = [n.length_mm, n.height_mm, n.from_left_mm, n.from_bottom_mm].map(show_mm);
        format!("{length} x {height} at {left}, {bottom}")
    };
    let cuts = |piece: &Piece| {
        let angles = piece.angles_deg.iter().map(|angle| format!("{angle:.1}°"));
        piece.ripped.then(|| "rip".to_owned()).into_iter().chain(angles).collect::<Vec<_>>().join(" ")
    };
    let row = |piece: &Piece| {
        let notches = piece.notches.iter().map(notch).collect::<Vec<_>>().join("; ");
        let ([length, height], edge) = ([piece.length_mm, piece.height_mm].map(show_mm), show_to(piece.cut_edge_m, 2));
        [piece.label.clone(), length, height, cuts(piece), notches, edge]
    };
    let heading = ["piece", "length mm", "height mm", "", "notch: length x height at left, bottom", "cut edge m"];
    let mut text = format!(
        "{}\n\n{}, {} m², {} m of cut edge to seal.",
        table_text(heading, panels.pieces.iter().map(row)),
        count(panels.pieces.len(), "piece"),
        show_to(panels.area_m2, 2),
        show_to(panels.cut_edge_m, 2)
    );
    // Two sizes and an angle don't say where a sloping cut begins.
    let sloping: Vec<&Piece> = panels.pieces.iter().filter(|piece| !piece.angles_deg.is_empty()).collect();
    if !sloping.is_empty() {
        text += "\n\nSloping cuts, corners from the left and the bottom of each piece, in mm:";
        for piece in sloping {
            text += &format!("\n{}", wrapped(&format!("{}: {}", piece.label, corners(piece)), 2));
        }
    }
    if let Some(small) = panels.small.as_ref().filter(|small| !small.is_empty()) {
        let line = format!("Shorter or lower than the least piece: {}.", small.join(", "));
        text += &format!("\n{}", wrapped(&line, 0));
    }
    text
}

/// The corners of a piece as they are marked on it: "0, 0; 1195, 0; 1195, 350; 0, 445".
fn corners(piece: &Piece) -> String {
    let least = |axis: usize| piece.outline_mm.iter().map(|point| point[axis]).fold(f64::INFINITY, f64::min);
    let (left, bottom) = (least(0), least(1));
    let corner = |[x, y]: &[f64; 2]| format!("{}, {}", show_mm(x - left), show_mm(y - bottom));
    piece.outline_mm.iter().map(corner).collect::<Vec<_>>().join("; ")
}
