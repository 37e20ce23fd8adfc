//! Quick plans: first fit decreasing, and boards filled one pattern at a time.

use super::effort::Effort;
use super::price::{Parts, Places, Pricer};
use super::problem::{Load, Problem};

/// First fit, longest pieces first, on boards of one kind; then each board is swapped for the cheapest with room.
pub(super) fn first_fit(problem: &Problem, stock: usize, need: &[u32]) -> Option<Vec<Load>> {
    let room = problem.rooms[stock];
    let mut groups: Vec<(usize, Load)> = Vec::new();
    for (item, &wanted) in need.iter().enumerate() {
        let size = problem.sizes[item];
        let mut left = wanted;
        let mut place = 0;
        while left > 0 && place < groups.len() {
            let fits = u32::try_from(groups[place].0 / size).unwrap_or(u32::MAX);
            if fits == 0 {
                place += 1;
                continue;
            }
            let times = groups[place].1.times;
            let (copies, boards) = if left >= fits { (fits, times.min(left / fits)) } else { (left, 1) };
            if boards < times {
                // Only some of these boards take the piece: they part ways with the others.
                let mut rest = groups[place].clone();
                rest.1.times = times - boards;
                groups.insert(place + 1, rest);
            }
            let (spare, load) = &mut groups[place];
            load.times = boards;
            load.parts.push((item, copies));
            *spare -= size * copies as usize;
            left -= copies * boards;
            place += 1;
        }
        if left > 0 {
            let fits = u32::try_from(room / size).unwrap_or(u32::MAX);
            if fits == 0 {
                return None;
            }
            if left / fits > 0 {
                let load = Load { stock, times: left / fits, parts: vec![(item, fits)] };
                groups.push((room - size * fits as usize, load));
            }
            if left % fits > 0 {
                let load = Load { stock, times: 1, parts: vec![(item, left % fits)] };
                groups.push((room - size * (left % fits) as usize, load));
            }
        }
    }
    let cheaper = |(_, mut load): (usize, Load)| {
        load.stock = problem.cheapest(problem.taken(&load.parts))?;
        Some(load)
    };
    groups.into_iter().map(cheaper).collect()
}

/// The best of [`first_fit`] over the kinds of board, on top of what the offcuts that are there take.
pub(super) fn best_first_fit(problem: &Problem, need: &[u32], supply: &[Option<u32>]) -> Option<Vec<Load>> {
    let mut left = need.to_vec();
    let used = onto_offcuts(problem, &mut left, supply);
    let plans = problem.bought().filter_map(|stock| first_fit(problem, stock, &left));
    let mut plan = plans.min_by_key(|plan| (problem.cost(plan), problem.boards(plan)))?;
    plan.extend(used);
    Some(plan)
}

/// Fills the offcuts that are there, the shortest first, with the longest pieces that fit.
fn onto_offcuts(problem: &Problem, left: &mut [u32], supply: &[Option<u32>]) -> Vec<Load> {
    let mut kinds: Vec<usize> = (0..supply.len()).filter(|&stock| supply[stock].is_some_and(|n| n > 0)).collect();
    kinds.sort_by_key(|&stock| problem.rooms[stock]);
    let mut used = Vec::new();
    for stock in kinds {
        for _ in 0..supply[stock].unwrap_or(0) {
            let mut room = problem.rooms[stock];
            let mut parts = Parts::new();
            for (item, wanted) in left.iter_mut().enumerate() {
                let copies = (*wanted).min(u32::try_from(room / problem.sizes[item]).unwrap_or(u32::MAX));
                if copies > 0 {
                    *wanted -= copies;
                    room -= problem.sizes[item] * copies as usize;
                    parts.push((item, copies));
                }
            }
            if parts.is_empty() {
                break;
            }
            used.push(Load { stock, times: 1, parts });
        }
    }
    used
}

/// Fills boards one pattern at a time, each with the least waste there is, long pieces weighing more than their
/// length by `bias` hundredths; each pattern is used as often as the demand allows.
pub(super) fn fill_in_turn(
    problem: &Problem,
    need: &[u32],
    bias: f64,
    pricer: &mut Pricer,
    effort: &mut Effort,
) -> Option<Vec<Load>> {
    let room = problem.rooms.iter().copied().max()?;
    let longest = *problem.sizes.first()? as f64;
    let prices: Vec<f64> = problem
        .sizes
        .iter()
        .map(|&size| (size as f64 * (1.0 + bias / 100.0 * size as f64 / longest) * 1024.0).floor())
        .collect();
    let mut left = need.to_vec();
    let mut loads = Vec::new();
    let none = Places::new();
    for (stock, count) in problem.offcuts() {
        for _ in 0..count {
            effort.spend(pricer.fill(&problem.sizes, &prices, &left, problem.rooms[stock], &none)?);
            let parts = pricer.pattern(problem.rooms[stock], &problem.sizes, &none);
            if parts.is_empty() {
                break;
            }
            for &(item, copies) in &parts {
                left[item] -= copies;
            }
            loads.push(Load { stock, times: 1, parts });
        }
    }
    while left.iter().any(|&count| count > 0) {
        if effort.over() {
            return None;
        }
        effort.spend(pricer.fill(&problem.sizes, &prices, &left, room, &none)?);
        // Best value a unit of cost; ties go to the longer board.
        let stock = problem.bought().filter(|&s| pricer.best(problem.rooms[s]) > 0.0).max_by(|&a, &b| {
            let value = |s: usize| pricer.best(problem.rooms[s]) / problem.costs[s] as f64;
            value(a).total_cmp(&value(b)).then(problem.rooms[a].cmp(&problem.rooms[b]))
        })?;
        let parts = pricer.pattern(problem.rooms[stock], &problem.sizes, &none);
        let times = parts.iter().map(|&(item, copies)| left[item] / copies).min()?;
        for &(item, copies) in &parts {
            left[item] -= copies * times;
        }
        loads.push(Load { stock, times, parts });
    }
    Some(loads)
}
