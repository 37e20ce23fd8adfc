//! The cut plan against published instances, outside solvers, and every plan there is.

use std::collections::BTreeMap;

use cladlog::materials::cuts::{CutError, CutPlan, CutRequest, Offcut, Piece, plan_cuts};
use proptest::prelude::*;

const NEVER: &dyn Fn() -> bool = &|| false;

fn request(stock_mm: &[u32], kerf_mm: f64, pieces: &[(u32, u32)]) -> CutRequest {
    let piece = |(row, &(length_mm, count)): (usize, &(u32, u32))| Piece { label: format!("P{row}"), length_mm, count };
    let pieces = pieces.iter().enumerate().map(piece).collect();
    CutRequest { pieces, stock_mm: stock_mm.to_vec(), kerf_mm, ..CutRequest::default() }
}

/// Solves, checks the plan piece by piece against the request, and hands it back.
#[track_caller]
fn checked(request: &CutRequest) -> CutPlan {
    let plan = plan_cuts(request, NEVER).unwrap();
    let mut wanted: BTreeMap<(String, u32), u64> = BTreeMap::new();
    for piece in &request.pieces {
        *wanted.entry((piece.label.clone(), piece.length_mm)).or_insert(0) += u64::from(piece.count);
    }
    let mut cut: BTreeMap<(String, u32), u64> = BTreeMap::new();
    let (mut boards, mut bought, mut kept) = (0, 0, 0.0);
    for pattern in &plan.patterns {
        assert!(request.stock_mm.contains(&pattern.stock_mm) && pattern.times > 0);
        let taken: f64 = pattern.pieces.iter().map(|piece| f64::from(piece.length_mm) + request.kerf_mm).sum();
        let stock = f64::from(pattern.stock_mm) - request.square_mm;
        assert!(taken <= stock + request.kerf_mm + 1e-9, "{pattern:?}");
        assert!((pattern.offcut_mm - (stock - taken).max(0.0)).abs() < 1e-9, "{pattern:?}");
        for piece in &pattern.pieces {
            *cut.entry((piece.label.clone(), piece.length_mm)).or_insert(0) += u64::from(pattern.times);
        }
        boards += u64::from(pattern.times);
        bought += u64::from(pattern.times) * u64::from(pattern.stock_mm);
        if pattern.offcut_mm >= request.offcut_mm {
            kept += pattern.offcut_mm * f64::from(pattern.times);
        }
    }
    let mut there: Vec<&Offcut> = request.offcuts.iter().collect();
    let mut used = 0.0;
    for board in &plan.from_offcuts {
        let place = there.iter().position(|offcut| offcut.id == board.offcut);
        let offcut = there.remove(place.expect("an offcut that is there, and only once"));
        let taken: f64 = board.pieces.iter().map(|piece| f64::from(piece.length_mm) + request.kerf_mm).sum();
        assert!(offcut.length_mm == board.length_mm && taken <= board.length_mm + request.kerf_mm + 1e-9, "{board:?}");
        assert!((board.offcut_mm - (board.length_mm - taken).max(0.0)).abs() < 1e-6, "{board:?}");
        for piece in &board.pieces {
            *cut.entry((piece.label.clone(), piece.length_mm)).or_insert(0) += 1;
        }
        used += board.length_mm;
        if board.offcut_mm >= request.offcut_mm {
            kept += board.offcut_mm;
        }
    }
    assert_eq!(cut, wanted, "every piece exactly once");
    let pieces: u64 = request.pieces.iter().map(|piece| u64::from(piece.length_mm) * u64::from(piece.count)).sum();
    let waste = (bought + used as u64).saturating_sub(pieces);
    assert_eq!((plan.boards, plan.bought_mm, plan.waste_mm), (boards, bought, waste));
    assert!((plan.kept_mm - kept).abs() < 1e-6);
    assert!(plan.lower_bound_mm <= plan.bought_mm);
    assert_eq!(plan.proven, plan.lower_bound_mm == plan.bought_mm);
    plan
}

#[track_caller]
fn proves(stock: u32, kerf: f64, lengths: &[u32], counts: &[u32], boards: u64) {
    let pieces: Vec<_> = lengths.iter().copied().zip(counts.iter().copied()).collect();
    let plan = checked(&request(&[stock], kerf, &pieces));
    assert_eq!((plan.boards, plan.proven), (boards, true), "lower bound {}", plan.lower_bound_mm);
    assert_eq!(plan.lower_bound_mm, boards * u64::from(stock));
}

#[test]
fn paper_reels_of_5600_take_73() {
    // Wikipedia, "Cutting stock problem": optimum 73; first fit decreasing takes 82.
    let widths = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200];
    let counts = [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20];
    proves(5600, 0.0, &widths, &counts, 73);
}

#[test]
fn gams_model_library_cutstock_takes_453() {
    // GAMS model library 294, CUTSTOCK: data published there, linear programme 452.25.
    proves(100, 0.0, &[14, 31, 36, 45], &[211, 395, 610, 97], 453);
}

#[test]
fn ampl_sample_cut_takes_47() {
    // AMPL and GLPK sample "cut": linear programme 46.25, optimum 47.
    proves(110, 0.0, &[20, 45, 50, 55, 75], &[48, 35, 24, 10, 8], 47);
}

#[test]
fn small_published_cases() {
    // A course exercise (boards of 22) and the AMPL API sample (rolls of 6450).
    proves(22, 0.0, &[7, 5, 3], &[110, 120, 80], 74);
    proves(6450, 0.0, &[677, 756, 1746, 1876], &[10, 40, 33, 10], 18);
}

#[test]
fn falkenauer_u120_00_takes_48() {
    // OR-Library binpack1, problem u120_00: capacity 150, 120 items, best known 48.
    const ITEMS: [u32; 120] = [
        42, 69, 67, 57, 93, 90, 38, 36, 45, 42, 33, 79, 27, 57, 44, 84, 86, 92, 46, 38, 85, 33, 82, 73, 49, 70, 59, 23,
        57, 72, 74, 69, 33, 42, 28, 46, 30, 64, 29, 74, 41, 49, 55, 98, 80, 32, 25, 38, 82, 30, 35, 39, 57, 84, 62, 50,
        55, 27, 30, 36, 20, 78, 47, 26, 45, 41, 58, 98, 91, 96, 73, 84, 37, 93, 91, 43, 73, 85, 81, 79, 71, 80, 76, 83,
        41, 78, 70, 23, 42, 87, 43, 84, 60, 55, 49, 78, 73, 62, 36, 44, 94, 69, 32, 96, 70, 84, 58, 78, 25, 80, 58, 66,
        83, 24, 98, 60, 42, 43, 43, 39,
    ];
    assert_eq!(ITEMS.iter().sum::<u32>(), 7078);
    proves(150, 0.0, &ITEMS, &[1; 120], 48);
}

#[test]
fn triplets_are_packed_without_any_waste() {
    // In the manner of Falkenauer's t sets (optimum = a third of the items): every board is three pieces, exactly full.
    let mut pieces = Vec::new();
    let mut number = 12_345u32;
    let mut next = |below: u32| {
        number = number.wrapping_mul(1_103_515_245).wrapping_add(12_345);
        (number >> 8) % below
    };
    for _ in 0..20 {
        let long = 380 + next(110);
        let middle = 250 + next((1000 - long) / 2 - 250 + 1);
        pieces.extend([(long, 1), (middle, 1), (1000 - long - middle, 1)]);
    }
    let plan = checked(&request(&[1000], 0.0, &pieces));
    assert_eq!((plan.boards, plan.waste_mm, plan.proven), (20, 0, true));
}

#[test]
fn the_kerf_decides_at_the_edge() {
    // No source: worked by hand. The last cut may fall on the end of the board, so n pieces need n - 1 kerfs.
    proves(6000, 0.0, &[1500], &[8], 2);
    proves(6000, 4.0, &[1500], &[8], 3);
    proves(6012, 4.0, &[1500], &[8], 2);
    proves(6011, 4.0, &[1500], &[8], 3);
    proves(2400, 0.0, &[600, 800, 1200], &[4, 3, 2], 3);
    proves(2400, 3.0, &[600, 800, 1200], &[4, 3, 2], 4);
    // Tenths of a millimetre: 3 x 1000 and two cuts of 2.5.
    proves(3005, 2.5, &[1000], &[3], 1);
    proves(3005, 2.6, &[1000], &[3], 2);
    // Pieces shorter than the kerf: 500 x 2 and 499 cuts of 4 are 2996.
    proves(2996, 4.0, &[2], &[500], 1);
    proves(2995, 4.0, &[2], &[500], 2);
    proves(3000, 4.0, &[2998, 2], &[1, 1], 2);
    proves(3004, 4.0, &[2998, 2], &[1, 1], 1);
    // A piece as long as the board fits, whatever the kerf.
    let plan = checked(&request(&[3000], 4.0, &[(3000, 2)]));
    assert_eq!((plan.boards, plan.patterns[0].offcut_mm), (2, 0.0));
}

#[test]
fn length_bought_comes_first_and_then_boards() {
    // 3 x 1000: one of 3000 is 3000 bought; three of 1000 are 3000 too, in three boards.
    let plan = checked(&request(&[1000, 3000], 0.0, &[(1000, 3)]));
    assert_eq!((plan.bought_mm, plan.boards, plan.proven), (3000, 1, true));
    // 2 x 2000: two boards of 2000 buy less than one of 4500.
    let plan = checked(&request(&[2000, 4500], 0.0, &[(2000, 2)]));
    assert_eq!((plan.bought_mm, plan.boards), (4000, 2));
}

#[test]
fn or_tools_agrees_on_sixty_walls() {
    // Fixture and the script that made it (OR-Tools 9.15.6755) lie beside this file.
    let cases: serde_json::Value = serde_json::from_str(include_str!("fixtures/cut_cases.json")).unwrap();
    let list = |value: &serde_json::Value| -> Vec<u32> { serde_json::from_value(value.clone()).unwrap() };
    for case in cases.as_array().unwrap() {
        let pieces: Vec<_> = list(&case["lengths_mm"]).into_iter().zip(list(&case["counts"])).collect();
        let plan = checked(&request(&list(&case["stock_mm"]), case["kerf_mm"].as_f64().unwrap(), &pieces));
        let want = (case["bought_mm"].as_u64().unwrap(), case["boards"].as_u64().unwrap());
        assert_eq!((plan.bought_mm, plan.boards), want, "seed {}", case["seed"]);
        assert!(plan.proven, "seed {}", case["seed"]);
    }
}

#[test]
fn a_hundred_distinct_pieces_are_proved_and_come_out_the_same_twice() {
    let pieces: Vec<_> = (0..100).map(|i| (400 + (i * 7919) % 2100, 1)).collect();
    let asked = request(&[3000, 3600], 4.0, &pieces);
    let plan = checked(&asked);
    assert!(plan.proven);
    assert_eq!(plan, plan_cuts(&asked, NEVER).unwrap());
}

#[test]
fn a_million_pieces_are_planned_by_patterns() {
    let plan = checked(&request(&[3000, 3600], 4.0, &[(1100, 400_000), (700, 350_000), (450, 250_000)]));
    assert!(plan.proven && plan.patterns.len() < 20, "{}", plan.patterns.len());
}

#[test]
fn stopped_at_once_there_is_still_a_plan_and_an_honest_bound() {
    let pieces: Vec<_> = (0..200).map(|i| (300 + (i * 7919) % 2100, 1)).collect();
    let asked = request(&[3000, 3600], 4.0, &pieces);
    let hasty = plan_cuts(&asked, &|| true).unwrap();
    let best = checked(&asked);
    assert!(hasty.bought_mm >= best.bought_mm && hasty.lower_bound_mm <= best.bought_mm);
    assert_eq!(hasty.proven, hasty.bought_mm == hasty.lower_bound_mm);
}

#[test]
fn labels_of_one_length_are_solved_as_one_and_handed_out_after() {
    let mut asked = request(&[3000], 4.0, &[(900, 4), (900, 3), (900, 2)]);
    asked.pieces[2].label = "P0".into();
    let plan = checked(&asked);
    assert_eq!((plan.boards, plan.patterns.len()), (3, 2), "{:?}", plan.patterns);
    assert_eq!(plan.patterns[0].in_words(), "3 x 900 (P0)");
}

#[test]
fn bundles_are_rounded_up_for_each_length() {
    let mut asked = request(&[2000, 3000], 0.0, &[(3000, 5), (2000, 4)]);
    asked.bundle = 4;
    let plan = checked(&asked);
    let bundles: Vec<_> = plan.bundles.iter().map(|order| (order.stock_mm, order.bundles)).collect();
    assert_eq!(bundles, [(3000, 2), (2000, 1)]);
}

#[test]
fn what_cannot_be_meant_says_what_is_wrong_and_where() {
    let said = |asked: &CutRequest| {
        let error = plan_cuts(asked, NEVER).unwrap_err();
        (error.row, error.to_string())
    };
    let with = |change: &dyn Fn(&mut CutRequest)| {
        let mut asked = request(&[3000], 4.0, &[(900, 1), (500, 2)]);
        change(&mut asked);
        said(&asked)
    };
    assert_eq!(
        with(&|asked| asked.pieces[1].length_mm = 3200),
        (Some(2), "'P1' is 3200 mm, the longest stock is 3000 mm: 200 mm too long".into())
    );
    assert_eq!(with(&|asked| asked.pieces[0].count = 0).1, "count 0 pieces is outside 1 to 1000000 pieces");
    assert_eq!(with(&|asked| asked.pieces[0].length_mm = 0).1, "piece length 0 mm is outside 1 to 200000 mm");
    assert_eq!(
        with(&|asked| asked.pieces[0].count = 999_999),
        (Some(2), "with 'P1' there are 1000001 pieces in all: the limit is 1000000".into())
    );
    assert_eq!(with(&|asked| asked.kerf_mm = 501.0).1, "kerf 501 mm is outside 0 to 100 mm");
    assert_eq!(with(&|asked| asked.kerf_mm = 2.25).1, "kerf 2.25 mm is finer than tenths of a millimetre");
    assert_eq!(with(&|asked| asked.kerf_mm = -1.0).1, "kerf -1 mm is outside 0 to 100 mm");
    assert_eq!(with(&|asked| asked.kerf_mm = f64::NAN).1, "kerf not a number mm is outside 0 to 100 mm");
    assert_eq!(
        with(&|asked| asked.pieces[0].label = "a,b".into()).1,
        "label 'a,b' has a comma in it: a label is one line of plain text without commas"
    );
    assert!(with(&|asked| asked.pieces[0].label = "a\nb".into()).1.contains("a line break"));
    assert!(with(&|asked| asked.pieces[0].label = "a\u{7}b".into()).1.contains("a control character"));
    assert_eq!(
        with(&|asked| asked.pieces[0].label = " ".into()).1,
        "label is blank: every piece needs a mark at the saw"
    );
    assert_eq!(
        with(&|asked| asked.stock_mm.clear()).1,
        "no stock length is given: at least one is needed, such as 3000"
    );
    assert_eq!(with(&|asked| asked.stock_mm[0] = 0).1, "stock length 0 mm is outside 1 to 200000 mm");
    assert_eq!(with(&|asked| asked.bundle = 0).1, "bundle 0 boards is outside 1 to 10000 boards");
    assert_eq!(with(&|asked| asked.seconds = -1.0).1, "time box -1 seconds is outside 0 to 3600 seconds");
    assert_eq!(said(&CutRequest { stock_mm: vec![3000], ..CutRequest::default() }).1, CutError::Nothing.to_string());
}

/// The best of all plans, by trying them: least length, then fewest boards. Board after board, the longest piece left
/// always goes on the next board, or on one of the offcuts.
fn by_trying(stock: &[u32], offcuts: &[u32], kerf: u32, left: &mut Vec<u32>) -> (u64, u64) {
    let Some(first) = left.pop() else { return (0, 0) };
    let mut best = (u64::MAX, 0);
    let count = left.len();
    for chosen in 0..1u32 << count {
        let taken: u32 =
            first + kerf + (0..count).filter(|i| chosen >> i & 1 == 1).map(|i| left[i] + kerf).sum::<u32>();
        let mut rest: Vec<u32> = (0..count).filter(|i| chosen >> i & 1 == 0).map(|i| left[i]).collect();
        for (place, offcut) in offcuts.iter().enumerate() {
            if offcut + kerf >= taken {
                let others = [&offcuts[..place], &offcuts[place + 1..]].concat();
                best = best.min(by_trying(stock, &others, kerf, &mut rest));
            }
        }
        let Some(board) = stock.iter().copied().filter(|stock| stock + kerf >= taken).min() else { continue };
        let (length, boards) = by_trying(stock, offcuts, kerf, &mut rest);
        best = best.min((length + u64::from(board), boards + 1));
    }
    left.push(first);
    best
}

fn offcuts(lengths: &[u32]) -> Vec<Offcut> {
    let one = |(number, &length)| Offcut { id: format!("N/B{number}"), length_mm: f64::from(length) };
    lengths.iter().enumerate().map(one).collect()
}

#[test]
fn offcuts_that_are_there_are_used_before_a_board_is_bought() {
    // No source: worked by hand. Three of 1000 and a cut each fill 3008; one goes on the offcut of 1000.
    let mut asked = request(&[3008], 4.0, &[(1000, 4)]);
    asked.offcuts = offcuts(&[1000, 999]);
    let plan = checked(&asked);
    assert_eq!((plan.boards, plan.from_offcuts.len(), plan.proven), (1, 1, true));
    assert_eq!((plan.from_offcuts[0].offcut.as_str(), plan.from_offcuts[0].in_words()), ("N/B0", "1000 (P0)".into()));
    // All of it out of offcuts: nothing is bought.
    asked.offcuts = offcuts(&[2004, 2004]);
    let plan = checked(&asked);
    assert_eq!((plan.boards, plan.bought_mm, plan.proven, plan.bundles.len()), (0, 0, true, 0));
    asked.offcuts[1].length_mm = -1.0;
    assert_eq!(
        plan_cuts(&asked, NEVER).unwrap_err().to_string(),
        "offcut 'N/B1': offcut -1 mm is outside 0 to 200000 mm"
    );
}

#[test]
fn a_squared_end_is_gone_before_the_first_cut() {
    // No source: worked by hand. 3 x 1000 and two cuts of 4 are 3008: 3018 squared by 10 just gives them.
    let with = |stock: u32| {
        let mut asked = request(&[stock], 4.0, &[(1000, 3)]);
        asked.square_mm = 10.0;
        checked(&asked).boards
    };
    assert_eq!((with(3018), with(3017)), (1, 2));
    let mut asked = request(&[3000], 4.0, &[(2995, 1)]);
    asked.square_mm = 10.0;
    assert_eq!(
        plan_cuts(&asked, NEVER).unwrap_err().to_string(),
        "'P0' is 2995 mm, the longest stock is 3000 mm, 10 mm of it to square its end: 5 mm too long"
    );
    asked.square_mm = 0.25;
    assert_eq!(
        plan_cuts(&asked, NEVER).unwrap_err().to_string(),
        "squared end 0.25 mm is finer than tenths of a millimetre"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn small_plans_are_the_best_of_all_plans(
        mut lengths in prop::collection::vec(5u32..40, 1..8),
        stock in prop::collection::btree_set(40u32..70, 1..4),
        kerf in 0u32..5,
    ) {
        let stock: Vec<u32> = stock.into_iter().collect();
        let pieces: Vec<_> = lengths.iter().map(|&length| (length, 1)).collect();
        let plan = checked(&request(&stock, f64::from(kerf), &pieces));
        lengths.sort_unstable();
        prop_assert_eq!((plan.bought_mm, plan.boards), by_trying(&stock, &[], kerf, &mut lengths));
        prop_assert!(plan.proven);
    }

    #[test]
    fn small_plans_with_offcuts_are_the_best_of_all_plans(
        mut lengths in prop::collection::vec(5u32..40, 1..7),
        stock in prop::collection::btree_set(40u32..70, 1..3),
        there in prop::collection::vec(4u32..60, 1..4),
        kerf in 0u32..5,
    ) {
        let stock: Vec<u32> = stock.into_iter().collect();
        let pieces: Vec<_> = lengths.iter().map(|&length| (length, 1)).collect();
        let mut asked = request(&stock, f64::from(kerf), &pieces);
        asked.offcuts = offcuts(&there);
        let plan = checked(&asked);
        lengths.sort_unstable();
        prop_assert_eq!((plan.bought_mm, plan.boards), by_trying(&stock, &there, kerf, &mut lengths));
        prop_assert!(plan.proven);
    }

    #[test]
    fn any_request_gives_a_plan_or_a_message(
        rows in prop::collection::vec((any::<u16>(), 0u32..40), 0..30),
        stock in prop::collection::vec(any::<u16>(), 0..4),
        tenths in 0u32..200,
    ) {
        let pieces: Vec<_> = rows.iter().map(|&(length, count)| (u32::from(length), count)).collect();
        let stock: Vec<u32> = stock.iter().map(|&length| u32::from(length)).collect();
        let mut asked = request(&stock, f64::from(tenths) / 10.0, &pieces);
        asked.seconds = 0.01;
        match plan_cuts(&asked, NEVER) {
            Ok(_) => { checked(&asked); }
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}
