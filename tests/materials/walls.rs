//! Cutting wall by wall, against a checker that knows nothing of how the plan came about.

use std::collections::BTreeMap;

use cladlog::materials::cuts::{CutRequest, JobCuts, Offcut, Piece, WallPieces, plan_walls};
use proptest::prelude::*;
use serde_json::Value;

/// What the saw is set to.
pub struct Saw {
    pub stock_mm: Vec<u64>,
    pub kerf_mm: f64,
    pub square_mm: f64,
    pub offcut_mm: f64,
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} in {value}"))
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

/// Cuts the plans of some walls, one after the other, from a heap of boards and offcuts; gives the offcuts left.
///
/// Insists that each offcut used is on the heap by then, that lengths and cuts add up on every board, that every piece
/// is cut exactly once, and that what each wall says is left is what is on the heap.
#[track_caller]
pub fn cut_in_turn(
    walls: &[Value],
    wanted: &[BTreeMap<String, u64>],
    heap: &[(String, f64)],
    saw: &Saw,
) -> BTreeMap<String, f64> {
    let mut heap: BTreeMap<String, f64> = heap.iter().cloned().collect();
    for (wall, wanted) in walls.iter().zip(wanted) {
        let key = wall["wall"].as_str().unwrap();
        let mut cut: BTreeMap<String, u64> = BTreeMap::new();
        let mut board_number = 0;
        let mut bought = 0.0;
        let mut new = Vec::new();
        let boards = list(wall, "from_offcuts")
            .iter()
            .map(|board| (board, 1))
            .chain(list(wall, "patterns").iter().map(|board| (board, board["times"].as_u64().unwrap())));
        for (board, times) in boards {
            for _ in 0..times {
                board_number += 1;
                let length = match board.get("offcut").and_then(Value::as_str) {
                    Some(id) => {
                        let there = heap.remove(id).unwrap_or_else(|| panic!("{key}: offcut {id} is not there yet"));
                        assert_eq!(there, number(board, "length_mm"), "{key}: {id}");
                        there
                    }
                    None => {
                        assert!(saw.stock_mm.contains(&board["stock_mm"].as_u64().unwrap()), "{board}");
                        bought += number(board, "stock_mm");
                        number(board, "stock_mm") - saw.square_mm
                    }
                };
                let pieces = list(board, "pieces");
                let taken: f64 = pieces.iter().map(|piece| number(piece, "length_mm") + saw.kerf_mm).sum();
                assert!(!pieces.is_empty() && taken <= length + saw.kerf_mm + 1e-6, "{key}: {board}");
                let left = (length - taken).max(0.0);
                assert!((left - number(board, "offcut_mm")).abs() < 1e-6, "{key}: {board}");
                if left > 0.0 && left >= saw.offcut_mm {
                    new.push((format!("{key}/B{board_number}"), number(board, "offcut_mm")));
                }
                for piece in pieces {
                    *cut.entry(piece["label"].as_str().unwrap().to_owned()).or_insert(0) += 1;
                }
            }
        }
        assert_eq!(&cut, wanted, "{key}: every piece exactly once");
        assert_eq!(bought, number(wall, "bought_mm"), "{key}");
        heap.extend(new);
        let says: BTreeMap<String, f64> = list(wall, "offcuts_left")
            .iter()
            .map(|offcut| (offcut["id"].as_str().unwrap().to_owned(), number(offcut, "length_mm")))
            .collect();
        assert_eq!(says, heap, "{key}: what is left");
    }
    heap
}

fn wall(key: &str, lengths: &[(u32, u32)], found: Vec<Offcut>) -> WallPieces {
    let piece =
        |(row, &(length_mm, count)): (u64, &(u32, u32))| Piece { label: format!("{key}/P{row}"), length_mm, count };
    WallPieces { wall: key.into(), pieces: (1..).zip(lengths).map(piece).collect(), found }
}

fn wanted(walls: &[WallPieces]) -> Vec<BTreeMap<String, u64>> {
    let of = |wall: &WallPieces| wall.pieces.iter().map(|p| (p.label.clone(), u64::from(p.count))).collect();
    walls.iter().map(of).collect()
}

fn plans(walls: &[WallPieces], settings: &CutRequest) -> JobCuts {
    let plans = plan_walls(walls, settings, &|| false).unwrap();
    let json: Vec<Value> = plans.by_wall.iter().map(|wall| serde_json::to_value(wall).unwrap()).collect();
    let saw = Saw {
        stock_mm: settings.stock_mm.iter().copied().map(u64::from).collect(),
        kerf_mm: settings.kerf_mm,
        square_mm: settings.square_mm,
        offcut_mm: settings.offcut_mm,
    };
    // Found offcuts are put on the heap at once: the ids say whose they are, and none is of a wall in the plan.
    let heap = |walls: &[WallPieces]| -> Vec<(String, f64)> {
        walls.iter().flat_map(|wall| &wall.found).map(|offcut| (offcut.id.clone(), offcut.length_mm)).collect()
    };
    cut_in_turn(&json, &wanted(walls), &heap(&walls[..1]), &saw);
    let all: BTreeMap<String, u64> = wanted(walls).into_iter().flatten().collect();
    let whole = serde_json::to_value(&plans.whole).unwrap();
    if walls.len() > 1 {
        cut_in_turn(&[whole], &[all], &heap(&walls[..1]), &saw);
    }
    let (turn, whole) = (plans.by_wall_total(), plans.whole_total());
    assert!(turn.lower_bound_mm <= turn.bought_mm && whole.lower_bound_mm <= whole.bought_mm);
    assert!(turn.lower_bound_mm <= whole.bought_mm && (!whole.proven || whole.bought_mm <= turn.bought_mm));
    plans
}

#[test]
fn the_offcut_of_one_wall_is_the_board_of_the_next() {
    // No source: worked by hand. N leaves 996 of a board of 3000; E is one piece of 900.
    let settings = CutRequest { stock_mm: vec![3000], ..CutRequest::default() };
    let walls = [wall("N", &[(2000, 1)], vec![]), wall("E", &[(900, 1)], vec![]), wall("S", &[(2500, 1)], vec![])];
    let plans = plans(&walls, &settings);
    let used = &plans.by_wall[1].plan.from_offcuts[0];
    assert_eq!((used.offcut.as_str(), used.length_mm, used.offcut_mm), ("N/B1", 996.0, 92.0));
    assert_eq!((plans.by_wall_total().boards, plans.by_wall[1].plan.boards), (2, 0));
    let together = plans.together(1);
    assert_eq!((together.boards, together.bought_mm, together.waste_mm), (2, 6000, 600));
    // S leaves 496, long enough to keep.
    assert_eq!(together.kept_mm, 496.0);
}

#[test]
fn cutting_all_at_once_can_buy_less_and_says_so() {
    // N alone takes 2 boards of 3000 and leaves nothing worth keeping; with W's short pieces they fill up.
    let settings = CutRequest { stock_mm: vec![3000], offcut_mm: 1200.0, ..CutRequest::default() };
    let walls = [wall("N", &[(1900, 2)], vec![]), wall("W", &[(1090, 2)], vec![])];
    let plans = plans(&walls, &settings);
    let (turn, whole) = (plans.by_wall_total(), plans.whole_total());
    assert_eq!((turn.boards, turn.proven, turn.lower_bound_mm), (3, false, 6000));
    assert_eq!((whole.boards, whole.proven), (2, true));
}

#[test]
fn what_is_wrong_names_the_wall() {
    let settings = CutRequest { stock_mm: vec![3000], ..CutRequest::default() };
    let said = |walls: &[WallPieces]| plan_walls(walls, &settings, &|| false).unwrap_err().to_string();
    assert_eq!(said(&[]), "there is no wall to cut");
    assert_eq!(
        said(&[wall("N", &[(900, 1)], vec![]), wall("E", &[(3100, 1)], vec![])]),
        "wall E: 'E/P1' is 3100 mm, the longest stock is 3000 mm: 100 mm too long"
    );
    assert_eq!(said(&[wall("N", &[], vec![])]), "wall N: there is nothing to cut: at least one piece is needed");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn no_offcut_is_used_before_it_is_there_and_every_piece_is_cut_once(
        lengths in prop::collection::vec(prop::collection::vec((200u32..1900, 1u32..4), 1..6), 1..5),
        there in prop::collection::vec(200u32..2500, 0..3),
        kerf_tenths in 0u32..60,
        square_mm in 0u32..20,
        least in 100u32..900,
    ) {
        let found = |(n, &mm): (usize, &u32)| Offcut { id: format!("Z/B{n}"), length_mm: f64::from(mm) + 0.5 };
        let mut found: Vec<Offcut> = there.iter().enumerate().map(found).collect();
        let walls: Vec<WallPieces> = lengths
            .iter()
            .enumerate()
            .map(|(number, lengths)| wall(&format!("W{number}"), lengths, std::mem::take(&mut found)))
            .collect();
        let settings = CutRequest {
            stock_mm: vec![2000, 2400],
            kerf_mm: f64::from(kerf_tenths) / 10.0,
            square_mm: f64::from(square_mm),
            offcut_mm: f64::from(least),
            ..CutRequest::default()
        };
        plans(&walls, &settings);
    }
}
