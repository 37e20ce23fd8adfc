//! The cut plan at its working sizes: `cargo bench --no-default-features --bench cuts`.

use cladlog::materials::cuts::{CutRequest, Piece, plan_cuts};

fn main() {
    divan::main();
}

/// A wall of `count` pieces, none longer than the shortest stock; a fixed sequence, the same every run.
fn wall(count: u32, kinds: u32, stock_mm: &[u32]) -> CutRequest {
    let mut number = 2_463_534_242u32;
    let mut next = |below: u32| {
        number ^= number << 13;
        number ^= number >> 17;
        number ^= number << 5;
        number % below
    };
    let longest = stock_mm.iter().copied().min().unwrap_or(3000) - 250;
    let lengths: Vec<u32> = (0..kinds).map(|_| 250 + next(longest)).collect();
    let each = count / kinds;
    let pieces =
        lengths.iter().enumerate().map(|(row, &length_mm)| Piece { label: format!("P{row}"), length_mm, count: each });
    CutRequest { pieces: pieces.collect(), stock_mm: stock_mm.to_vec(), ..CutRequest::default() }
}

#[divan::bench(args = [60, 120, 240, 400], sample_count = 5)]
fn wall_of_distinct_pieces_on_one_stock(bencher: divan::Bencher, pieces: u32) {
    let request = wall(pieces, pieces, &[3600]);
    bencher.bench(|| plan_cuts(&request, &|| false));
}

#[divan::bench(args = [60, 120, 240, 400], sample_count = 5)]
fn wall_of_twenty_lengths_on_three_stocks(bencher: divan::Bencher, pieces: u32) {
    let request = wall(pieces, 20, &[2400, 3000, 3600]);
    bencher.bench(|| plan_cuts(&request, &|| false));
}

#[divan::bench(sample_count = 5)]
fn job_of_5000_pieces_of_80_lengths(bencher: divan::Bencher) {
    let request = wall(5_040, 80, &[3600]);
    bencher.bench(|| plan_cuts(&request, &|| false));
}
