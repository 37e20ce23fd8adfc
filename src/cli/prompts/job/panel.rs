//! What the courses are made of, and the figures that its maker gives.

use super::answers::{Answers, Stop};
use super::measures::{lengths, measured, one_length};
use crate::building::Panel;
use crate::cli::failure::Failure;
use crate::cli::prompts::question::{Asker, Question};
use crate::sequence::Sequence;
use crate::units::number::show;

/// Asks for the panel, plank or board, and how it is set out.
pub fn panel(ask: &mut Answers, sequence: &Sequence) -> Result<Panel, Stop> {
    let hung = hung(sequence);
    // Common practice, no source: boards that lap are longer, meet closely over a soaker, and are not lifted into a clip.
    let (length, joint, lift_in) = if hung == "panel" { ("2400", "10", "5") } else { ("4200", "2", "0") };
    let length_mm = measured(ask, &format!("Length of a {hung}"), Some(length), "As it comes, before it is cut.")?;
    let cover = format!(
        "From the lower edge of one course to the lower edge of the next: the height of a {hung} less what the next one \
         covers of it."
    );
    let cover_mm = measured(ask, "Cover: the height that one course gains", None, &cover)?;
    let (lap_mm, cover_least_mm) = match hung {
        "panel" => (None, None),
        _ => {
            let lap = Question::new("Lap of one course over the next", move |text| match lengths(text)?.as_slice() {
                [lap] if *lap < cover_mm => Ok(*lap),
                [_] => Err(format!("the lap must be less than the cover, {} mm", show(cover_mm))),
                _ => Err("one length, such as 30".to_owned()),
            });
            let lap = ask.ask(lap)?;
            let least = Question::new("Least cover that the lap may be let out to", move |text| {
                match lengths(text)?.as_slice() {
                    [least] if *least > 0.0 && *least <= cover_mm => Ok(*least),
                    _ => Err(format!("one length, no more than the cover, {} mm", show(cover_mm))),
                }
            });
            let least = least.usual(show((cover_mm - 10.0).max(cover_mm / 2.0))).help(
                "So that courses come out at sills, heads and the top every course may lap a little more. Common practice: \
                 10 mm less than the cover, and no more than the eye sees.",
            );
            (Some(lap), Some(ask.ask(least)?).filter(|least| *least < cover_mm))
        }
    };
    let asked = [
        ("Joint between two ends", joint, "The open width of a vertical joint."),
        ("Gap round openings", "10", "Between the cladding and the side, head or sill of an opening."),
        ("Room to lift the top course in", lift_in, "So much lower the top pieces are cut."),
        ("Lowest piece that may be left", "50", "At the top, under a sill or over a head."),
        ("Shortest piece that may be left", "300", "At the end of a course."),
        ("Joints keep clear of openings by", "100", "How far a vertical joint stays away from a window or a door."),
    ];
    let figures = asked.map(|(text, usual, _)| format!("{} {usual}", text.to_lowercase())).join(", ");
    let usual = Question::yes_no("Does the maker say so? (n to type each)", true);
    let usual = ask.ask(usual.above(format!("Usual figures in mm: {figures}.")))?;
    let mut figures = [0.0; 6];
    for (figure, (text, value, help)) in figures.iter_mut().zip(asked) {
        let question = Question::new(text, one_length).usual(value.to_owned());
        let question = question.help(format!("{help} As the maker's instructions have it."));
        *figure = if usual { one_length(value).map_err(Failure::input)? } else { ask.ask(question)? };
    }
    let [joint_mm, gap_mm, lift_in_mm, least_piece_mm, least_column_mm, clear_of_opening_mm] = figures;
    let stock = Question::new("Sold in lengths of", |text| {
        let whole = |mm: &f64| (mm.fract() == 0.0 && (1.0..=20_000.0).contains(mm)).then_some(*mm as u32);
        let lengths: Option<Vec<u32>> = lengths(text)?.iter().map(whole).collect();
        lengths.filter(|lengths| !lengths.is_empty()).ok_or_else(|| "whole millimetres, such as 2400 3000".to_owned())
    });
    let stock_mm = ask.ask(stock.usual(show(length_mm)))?;
    Ok(Panel {
        length_mm,
        cover_mm,
        least_column_mm,
        least_piece_mm,
        joint_mm,
        clear_of_opening_mm,
        lift_in_mm,
        gap_mm,
        lap_mm,
        cover_least_mm,
        cover_most_mm: cover_least_mm.map(|_| cover_mm),
        stock_mm,
        ..Panel::default()
    })
}

/// What the courses are made of.
pub fn hung(sequence: &Sequence) -> &str {
    sequence.products().find(|product| matches!(*product, "panel" | "plank" | "board")).unwrap_or("panel")
}
