//! A wall as it was built: its drawing with the plans that the job has kept, batches, seal dates, measurements, defects
//! and photos.

use chrono::NaiveDate;

use crate::building::{SubjectIx, SubjectKind, Wall};
use crate::day::{Defect, DefectState, State, Taken, plain_label};
use crate::handover::model::{NOT_NAMED, Number, Photo, Picture, day_span};
use crate::materials::product::{SEALANT, known_or_plain};
use crate::sequence::{Ask, Planned};
use crate::setout::boards::Boards;
use crate::setout::columns::Columns;
use crate::setout::drawing::{Elevation, Form, Mark, Place, Plans};
use crate::setout::packing::Packing;
use crate::table::grouped;
use crate::units::number::show;

/// A wall with all that the record knows of its places, with the letters of its job and the photos of a pack.
pub fn as_built(state: &State, wall: &Wall, letters: &Letters<'_>, photos: &[Photo<'_>]) -> Elevation {
    let Some(place) = state.subjects.index(&wall.key) else {
        return Elevation::of(&state.job, wall, &Plans::default());
    };
    let (set_out, rod) = (state.set_out_as_kept(place), state.rod(place));
    let (columns, packing) = (state.kept::<Columns>(place), state.kept::<Packing>(place));
    let mut drawn = Elevation::of(
        &state.job,
        wall,
        &Plans {
            courses_mm: rod.as_ref().map(|rod| rod.courses_mm.as_slice()),
            columns: columns.as_ref().map(|kept| &kept.result),
            set_out: set_out.as_ref(),
            packing: packing.as_ref().map(|kept| &kept.result),
            readings: &state.starter_readings(place),
        },
    );
    let mut notes = Vec::new();
    if state.kept::<Boards>(place).is_some() {
        notes.push("Board ends as planned.".to_owned());
    }
    notes.extend(top_piece(state, place));
    notes.extend(measured(state, place));
    let extras = state.extras.iter().filter(|extra| state.subjects.index(&extra.subject) == Some(place));
    notes.extend(extras.map(|extra| format!("Extra work, place not recorded: {}.", extra.what.trim_end_matches('.'))));
    letters.write(state, &mut drawn);
    add_marks(state, &mut drawn, photos);
    drawn.notes.splice(0..0, notes);
    drawn
}

/// Whether it seals, the product, the label of its batch, and the day, where days are told apart.
type Batch<'s> = (bool, &'s str, Option<String>, Option<NaiveDate>);

/// The letters of batches, the same on every drawing of a job: capitals for what hangs, small ones for what seals, in the order
/// in which each was first used.
pub struct Letters<'s>(Vec<(char, Vec<&'s Taken>)>);

impl<'s> Letters<'s> {
    /// Those of a job.
    pub fn of(state: &'s State) -> Self {
        let on_walls =
            || state.stock.taken.iter().map(AsRef::as_ref).filter(|taken: &&Taken| taken.how.is_on_the_wall());
        // What was sealed on different days is told apart, as long as there are letters for it.
        let lettered = |days: bool| {
            let mut taken: Vec<(Batch<'s>, &'s Taken)> =
                on_walls().filter_map(|taken| Some((batch(state, taken, days)?, taken))).collect();
            taken.sort_by_key(|(_, taken)| (taken.at, taken.subject));
            grouped(taken)
        };
        let mut batches = lettered(true);
        if batches.iter().filter(|((seals, ..), _)| *seals).count() > 26 {
            batches = lettered(false);
        }
        let mut letters = [(b'A'..=b'Z').map(char::from), (b'a'..=b'z').map(char::from)];
        // More batches than there are letters stay in the table beside the drawing.
        let next = |((seals, ..), taken): (Batch<'s>, _)| Some((letters[usize::from(seals)].next()?, taken));
        Self(batches.into_iter().filter_map(next).collect())
    }

    /// Writes them on a wall: boards and corner pieces where they hang, sealant where it seals, each with its dates there.
    fn write(&self, state: &State, drawn: &mut Elevation) {
        for (letter, taken) in &self.0 {
            let place =
                |taken: &&'s Taken| Some((*taken, drawn.place_of(&state.subjects.get(taken.subject).to_string())?));
            let here: Vec<(&Taken, Place)> = taken.iter().filter_map(place).collect();
            let times = || here.iter().map(|(taken, _)| taken.at);
            let Some((first, last)) = times().min().zip(times().max()) else { continue };
            let Taken { product, batch, .. } = here[0].0;
            let batch = batch.as_ref().map_or(format!(", {NOT_NAMED}"), |batch| format!(" {batch}"));
            let did = if product == SEALANT { "sealed" } else { "hung" };
            drawn.keys.push((letter.to_string(), format!("{product}{batch}, {did} {}", day_span(&first, &last))));
            for (_, place) in here {
                if !drawn.keys_of(place).contains(*letter) {
                    drawn.add_key(place, *letter);
                }
            }
        }
    }
}

/// What is told apart by a letter; nothing where none is written.
fn batch<'s>(state: &State, taken: &'s Taken, days: bool) -> Option<Batch<'s>> {
    let kind = state.subjects.get(taken.subject).kind();
    let seals = taken.product == SEALANT;
    let hangs = known_or_plain(&taken.product).matched && matches!(kind, SubjectKind::Course | SubjectKind::Corner);
    let is_drawn = !matches!(kind, SubjectKind::Job | SubjectKind::Wall);
    let label = taken.batch.as_deref().map(plain_label);
    (is_drawn && (seals || hangs))
        .then(|| (seals, taken.product.as_str(), label, (seals && days).then(|| taken.at.date())))
}

/// Defects that are not void, and photos with a picture, each by its number in the pack.
fn add_marks(state: &State, drawn: &mut Elevation, photos: &[Photo<'_>]) {
    let form = |defect: &Defect| match defect.state {
        DefectState::Open => Some(Form::Open),
        DefectState::Conceded => Some(Form::Conceded),
        DefectState::Closed => Some(Form::Closed),
        // It never was: its entry was struck.
        DefectState::Void => None,
    };
    let mut marks: Vec<Mark> = Vec::new();
    for (number, defect) in (1..).zip(&state.defects) {
        let place = drawn.place_of(&defect.subject);
        let label = || Number::Defect(number).to_string();
        marks.extend(form(defect).zip(place).map(|(form, place)| Mark { place, form, label: label() }));
    }
    for photo in photos.iter().filter(|photo| photo.has_picture()) {
        let places = photo.subjects.iter().filter_map(|subject| drawn.place_of(subject));
        let label = photo.picture.map(Picture::label).map(|label| label.to_string());
        marks.extend(places.zip(label.into_iter().cycle()).map(|(place, label)| Mark {
            place,
            form: Form::Photo,
            label,
        }));
    }
    drawn.marks = marks;
}

/// The piece under the top, as it was measured, or else as it is planned.
fn top_piece(state: &State, wall: SubjectIx) -> Option<String> {
    let planned = state.rod(wall).and_then(|rod| rod.top_rip_mm).map(show);
    let steps = state.sequence().steps.indexed();
    let asks = steps.flat_map(|(step, known)| known.asks.iter().map(move |ask| (step, ask)));
    let mut tops = asks.filter(|(_, ask)| ask.planned == Some(Planned::TopRip));
    let courses = state.subjects.related(wall, SubjectKind::Course);
    let read = |step, ask: &Ask| {
        let mut places = courses.iter().rev().copied().chain([wall]);
        places.find_map(|place| state.done(step, place).last()?.answer(&ask.key)?.value())
    };
    let measured = tops.find_map(|(step, ask)| read(step, ask)).map(show);
    Some(match (measured, planned) {
        (Some(measured), Some(planned)) if measured == planned => format!("Top piece {measured} mm, as planned."),
        (Some(measured), Some(planned)) => format!("Top piece {measured} mm (planned {planned})."),
        (Some(measured), None) => format!("Top piece {measured} mm."),
        (None, planned) => format!("Top piece planned at {} mm, not measured.", planned?),
    })
}

/// Where joints and courses were measured, and by how much they differ from the plan.
fn measured(state: &State, wall: SubjectIx) -> impl Iterator<Item = String> {
    let (mut as_planned, mut otherwise) = (Vec::new(), Vec::new());
    for (step, known) in state.sequence().steps.indexed() {
        let asks = known.asks.iter();
        for ask in asks.filter(|ask| matches!(ask.planned, Some(Planned::JointPosition | Planned::CourseHeight))) {
            for kind in [SubjectKind::Joint, SubjectKind::Course] {
                for place in state.subjects.related(wall, kind).iter().copied() {
                    let last = || state.done(step, place).last()?.answer(&ask.key)?.value();
                    let planned = || state.planned(step, place).get(&ask.key).copied();
                    match (last(), planned()) {
                        (Some(measured), Some(planned)) if measured == planned => as_planned.push(place),
                        (Some(measured), Some(planned)) => {
                            let id = state.subjects.get(place).to_string();
                            let name = id.split_once('/').map_or(id.as_str(), |(_, name)| name);
                            otherwise.push(format!("{name} {} (planned {})", show(measured), show(planned)));
                        }
                        _ => {}
                    }
                }
            }
        }
    }
    let wall = format!("{}/", state.subjects.get(wall));
    let as_planned = (!as_planned.is_empty())
        .then(|| format!("Measured as planned: {}.", state.subjects.shortly(&as_planned).replace(&wall, "")));
    let otherwise = (!otherwise.is_empty()).then(|| format!("Measured otherwise: {}.", otherwise.join(", ")));
    as_planned.into_iter().chain(otherwise)
}
