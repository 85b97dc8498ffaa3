//! Time to evaluate formulas. `cargo bench --bench expression`

use fretwork::expression::Formula;
use fretwork::units::Dimension;

fn main() {
    divan::main();
}

fn formula(text: &str) -> Formula {
    let names = |name: &str| {
        let slot = ["a", "b", "c", "d"]
            .iter()
            .position(|known| *known == name)?;
        Some((slot, Dimension::LENGTH))
    };
    Formula::read(text, &names).expect("good")
}

/// Ten operations on four lengths.
#[divan::bench]
fn ten_operations(bencher: divan::Bencher) {
    let formula = formula("(a + b / 2 - c / 2) * 0.5 + max(a, d) * 3 - (b - c) / 4");
    let slots = [1.5, 3.0, 16.0, 2.0];
    bencher.bench(|| divan::black_box(&formula).value(divan::black_box(&slots)));
}

/// A number on its own, as most sizes of a study are.
#[divan::bench]
fn constant(bencher: divan::Bencher) {
    let formula = formula("46 mm");
    bencher.bench(|| divan::black_box(&formula).value(&[]));
}
