//! How many panels some columns take, each cut so many times.

use std::collections::BTreeMap;

/// Ways of filling one panel that are tried in one search for fewer.
const MOST_TRIED: u64 = 60_000;

/// The saw: lengths in ticks, each piece with its cut.
pub(super) struct Saw {
    /// The panel and one cut, as the last cut may fall on its end.
    pub room: i64,
    /// How often each column is cut.
    pub times: u32,
}

/// How many panels: no fewer than, and no more than.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Panels {
    pub least: u64,
    pub most: u64,
}

impl Saw {
    /// No fewer panels than these, whatever the columns that add up to `total`.
    pub(super) fn by_length(&self, total: i64) -> u64 {
        (u128::from(self.times) * total.max(0) as u128).div_ceil(self.room.max(1) as u128) as u64
    }

    /// The panels for columns that each take so much; `least` is known already. The work is taken off `effort`.
    pub(super) fn panels(&self, columns: &[i64], least: u64, effort: &mut u64) -> Panels {
        let mut counts: BTreeMap<std::cmp::Reverse<i64>, u32> = BTreeMap::new();
        for &column in columns {
            *counts.entry(std::cmp::Reverse(column)).or_insert(0) += self.times;
        }
        let (sizes, counts): (Vec<i64>, Vec<u32>) = counts.into_iter().map(|(size, count)| (size.0, count)).unzip();
        let total = columns.iter().sum();
        let mut least = least.max(self.by_length(total));
        let most = self.first_fit(&sizes, &counts);
        let step = 8 * sizes.len() as u64;
        *effort = effort.saturating_sub(step * most);
        while least < most {
            let tries = MOST_TRIED.min(*effort / step);
            let spare = i128::from(least) * i128::from(self.room) - i128::from(self.times) * i128::from(total);
            let mut search = Search { sizes: &sizes, room: self.room, tries, failed: BTreeMap::new() };
            let fits = search.fit(&mut counts.clone(), spare as i64);
            *effort = effort.saturating_sub((tries - search.tries) * step);
            match fits {
                Some(true) => return Panels { least, most: least },
                Some(false) => least += 1,
                None => break,
            }
        }
        Panels { least, most }
    }

    /// First fit, longest first: never fewer than needed.
    fn first_fit(&self, sizes: &[i64], counts: &[u32]) -> u64 {
        let mut spare: Vec<i64> = Vec::new();
        for (&size, &count) in sizes.iter().zip(counts) {
            let mut from = 0;
            for _ in 0..count {
                match spare[from..].iter().position(|room| *room >= size) {
                    Some(place) => {
                        from += place;
                        spare[from] -= size;
                    }
                    None => {
                        from = spare.len();
                        spare.push(self.room - size);
                    }
                }
            }
        }
        spare.len() as u64
    }
}

/// Whether what is left fits on panels with so much to spare in all.
struct Search<'s> {
    sizes: &'s [i64],
    room: i64,
    tries: u64,
    /// What did not fit, with the most that was to spare.
    failed: BTreeMap<Vec<u32>, i64>,
}

impl Search<'_> {
    /// `None` when it took too long to say.
    fn fit(&mut self, left: &mut Vec<u32>, spare: i64) -> Option<bool> {
        let Some(longest) = left.iter().position(|count| *count > 0) else { return Some(true) };
        if self.failed.get(left).is_some_and(|most| spare <= *most) {
            return Some(false);
        }
        let mut ways = Vec::new();
        let mut way = vec![0; left.len()];
        way[longest] = 1;
        self.ways(left, longest, &mut way, self.room - self.sizes[longest], spare, &mut ways)?;
        ways.sort();
        for (waste, way) in ways {
            way.iter().zip(left.iter_mut()).for_each(|(cut, left)| *left -= cut);
            let fits = self.fit(left, spare - waste);
            way.iter().zip(left.iter_mut()).for_each(|(cut, left)| *left += cut);
            if fits != Some(false) {
                return fits;
            }
        }
        self.failed.insert(left.clone(), spare);
        Some(false)
    }

    /// The ways to fill one panel on which the longest that is left stands, wasting no more than there is to spare.
    fn ways(
        &mut self,
        left: &[u32],
        from: usize,
        way: &mut Vec<u32>,
        room: i64,
        spare: i64,
        ways: &mut Vec<(i64, Vec<u32>)>,
    ) -> Option<()> {
        self.tries = self.tries.checked_sub(1)?;
        let mut full = true;
        for next in from..left.len() {
            if way[next] < left[next] && self.sizes[next] <= room {
                full = false;
                way[next] += 1;
                self.ways(left, next, way, room - self.sizes[next], spare, ways)?;
                way[next] -= 1;
            }
        }
        // What leaves room for a longer piece that is still there is a worse way than one with it.
        let fuller = (0..from).any(|next| way[next] < left[next] && self.sizes[next] <= room);
        if full && !fuller && room <= spare {
            ways.push((room, way.clone()));
        }
        Some(())
    }
}
