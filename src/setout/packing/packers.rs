//! Which packers from the box: fewest, as change is given in coins.

use super::readings::PackingError;

/// Nearer than this to the edge of flatness is on it.
const ROUNDING_MM: f64 = 1e-7;
/// A stack higher than this is no packing; it bounds the table.
const MOST_STACK_MM: f64 = 5_000.0;
const MICROMETRES: f64 = 1000.0;
/// No number of packers makes this height.
const NONE: u32 = u32::MAX;

/// The box, and for every height that its packers stack to, the fewest that do.
pub(super) struct PackerBox {
    /// One step of the table: the largest height that every size is a multiple of.
    step_mm: f64,
    /// For each height: how many packers, and the step count of the last one laid.
    fewest: Vec<(u32, usize)>,
}

impl PackerBox {
    /// Fills the table up to `widest_mm`; sizes lie within 0.1 to 200 mm.
    pub(super) fn new(sizes_mm: &[f64], widest_mm: f64) -> Result<Self, PackingError> {
        let mut sizes = Vec::with_capacity(sizes_mm.len());
        for &size in sizes_mm {
            let micrometres = (size * MICROMETRES).round();
            if (size * MICROMETRES - micrometres).abs() > 1e-4 {
                return Err(PackingError::PackerTooFine(size));
            }
            sizes.push(micrometres as usize);
        }
        let step = sizes.iter().fold(0, |a, &b| common(a, b)).max(1);
        // Largest first, so that among stacks of equally many the one with the largest packer is laid.
        sizes.sort_unstable_by(|a, b| b.cmp(a));
        sizes.dedup();
        let top = (widest_mm.clamp(0.0, MOST_STACK_MM) * MICROMETRES).ceil() as usize / step + 1;
        let mut fewest = vec![(0, 0)];
        for height in 1..=top {
            let last = sizes
                .iter()
                .map(|size| size / step)
                .filter_map(|size| Some((fewest.get(height.checked_sub(size)?)?, size)))
                .filter(|((count, _), _)| *count != NONE)
                .min_by_key(|((count, _), _)| *count);
            fewest.push(last.map_or((NONE, 0), |((count, _), size)| (count + 1, size)));
        }
        Ok(Self { step_mm: step as f64 / MICROMETRES, fewest })
    }

    /// The fewest packers that stack to within `flat_mm` of `gap_mm`, largest first; of equally few, the
    /// stack that comes nearest to the plane.
    pub(super) fn fewest(&self, gap_mm: f64, flat_mm: f64) -> Option<Vec<f64>> {
        let low = ((gap_mm - flat_mm - ROUNDING_MM) / self.step_mm).ceil().max(0.0) as usize;
        let high = ((gap_mm + flat_mm + ROUNDING_MM) / self.step_mm).floor();
        if high < 0.0 {
            return None;
        }
        let off = |height: usize| (height as f64 * self.step_mm - gap_mm).abs();
        let mut height = (low..=(high as usize).min(self.fewest.len().saturating_sub(1)))
            .filter(|&height| self.fewest.get(height).is_some_and(|(count, _)| *count != NONE))
            .min_by(|&a, &b| {
                let count = |height: usize| self.fewest.get(height).map_or(NONE, |(count, _)| *count);
                count(a).cmp(&count(b)).then(off(a).total_cmp(&off(b)))
            })?;
        let mut stack = Vec::new();
        while let Some(&(count, size)) = self.fewest.get(height).filter(|(count, _)| *count > 0) {
            debug_assert!(count != NONE);
            // In whole micrometres first: three tenths are 0.3, not a hair more.
            stack.push((size as f64 * self.step_mm * MICROMETRES).round() / MICROMETRES);
            height -= size;
        }
        stack.sort_by(|a, b| b.total_cmp(a));
        Some(stack)
    }
}

fn common(a: usize, b: usize) -> usize {
    if b == 0 { a } else { common(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fewest_packers_come_from_the_box() {
        let kit = PackerBox::new(&[1.0, 2.0, 3.0, 5.0, 10.0], 40.0).unwrap();
        assert_eq!(kit.fewest(0.5, 1.0), Some(vec![]), "within flatness already");
        assert_eq!(kit.fewest(6.0, 0.0), Some(vec![5.0, 1.0]));
        assert_eq!(kit.fewest(6.0, 1.0), Some(vec![5.0]), "one packer, 1 mm short, still flat");
        assert_eq!(kit.fewest(18.0, 0.5), Some(vec![10.0, 5.0, 3.0]));
        assert_eq!(kit.fewest(2.5, 0.2), None, "nothing in the box makes 2.3 to 2.7");
    }

    #[test]
    fn few_beats_greedy_and_halves_are_exact() {
        let kit = PackerBox::new(&[1.0, 4.0, 5.0], 20.0).unwrap();
        assert_eq!(kit.fewest(8.0, 0.0), Some(vec![4.0, 4.0]), "not 5 + 1 + 1 + 1");
        let halves = PackerBox::new(&[1.5, 2.5], 20.0).unwrap();
        assert_eq!(halves.fewest(4.0, 0.0), Some(vec![2.5, 1.5]));
        assert_eq!(halves.fewest(1.0, 0.4), None);
        assert!(PackerBox::new(&[1.00005], 1.0).is_err());
        let tenths = PackerBox::new(&[0.1, 0.3], 1.0).unwrap();
        assert_eq!(tenths.fewest(0.7, 0.0), Some(vec![0.3, 0.3, 0.1]), "as printed on the box");
    }
}
