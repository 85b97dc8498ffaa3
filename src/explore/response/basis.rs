//! Least squares over orthonormal columns.

/// Share of a column's length that must be new for it to count.
const NEW: f64 = 1e-10;

/// Columns made orthonormal one after the other, and how the given ones follow from them.
///
/// X = Q R by classical Gram-Schmidt, each column made orthogonal twice, which keeps Q orthogonal to rounding.
///
/// Source: Giraud, Langou, Rozložník and van den Eshof, Numerische Mathematik 101, 2005 (twice is enough; from
/// memory).
#[derive(Clone, Debug, Default)]
pub(super) struct Basis {
    /// The orthonormal columns.
    pub(super) q: Vec<Vec<f64>>,
    /// Column k of R: k + 1 numbers.
    r: Vec<Vec<f64>>,
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl Basis {
    /// Adds a column; says whether it was new. One that depends on the others is left out.
    pub(super) fn push(&mut self, column: Vec<f64>) -> bool {
        let length = dot(&column, &column).sqrt();
        let (mut shares, mut rest) = self.split(column);
        let left = dot(&rest, &rest).sqrt();
        if !(left > NEW * length) {
            return false;
        }
        rest.iter_mut().for_each(|each| *each /= left);
        shares.push(left);
        self.r.push(shares);
        self.q.push(rest);
        true
    }

    /// Shares of a vector in the columns, and what is left of it.
    pub(super) fn split(&self, mut rest: Vec<f64>) -> (Vec<f64>, Vec<f64>) {
        let mut shares = vec![0.0; self.q.len()];
        for _ in 0..2 {
            let parts: Vec<f64> = self.q.iter().map(|q| dot(q, &rest)).collect();
            for ((q, part), share) in self.q.iter().zip(parts).zip(&mut shares) {
                *share += part;
                rest.iter_mut()
                    .zip(q)
                    .for_each(|(rest, q)| *rest -= part * q);
            }
        }
        (shares, rest)
    }

    /// Coefficients of the given columns from shares in the orthonormal ones.
    pub(super) fn coefficients(&self, mut shares: Vec<f64>) -> Vec<f64> {
        for k in (0..shares.len()).rev() {
            shares[k] /= self.r[k][k];
            for row in 0..k {
                shares[row] -= self.r[k][row] * shares[k];
            }
        }
        shares
    }

    /// Turns a row x of X into x R^-1, the row's place in the orthonormal columns.
    pub(super) fn place(&self, row: &mut [f64]) {
        for (k, column) in self.r.iter().enumerate() {
            row[k] = (row[k] - dot(&column[..k], &row[..k])) / column[k];
        }
    }

    /// Logarithm of the determinant of X'X.
    pub(super) fn ln_determinant(&self) -> f64 {
        self.r
            .iter()
            .enumerate()
            .map(|(k, column)| 2.0 * column[k].ln())
            .sum()
    }

    /// Diagonal of the hat matrix Q Q'.
    pub(super) fn leverages(&self) -> Vec<f64> {
        let rows = self.q.first().map_or(0, Vec::len);
        (0..rows)
            .map(|row| self.q.iter().map(|q| q[row] * q[row]).sum())
            .collect()
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A data set of the Statistical Reference Datasets, linear least squares, of the National Institute of Standards
    /// and Technology: certified coefficients, their standard errors and the residual standard deviation. Longley,
    /// Pontius and Norris read in a public test file, Wampler 1 to 5 in the public package NISTTests.
    struct Certified {
        columns: Vec<Vec<f64>>,
        y: Vec<f64>,
        coefficients: Vec<f64>,
        errors: Vec<f64>,
        deviation: f64,
        /// Relative error that doubles leave.
        tolerance: f64,
    }

    impl Certified {
        fn check(&self) {
            let mut basis = Basis::default();
            for column in &self.columns {
                assert!(basis.push(column.clone()));
            }
            let (shares, rest) = basis.split(self.y.clone());
            let freedom = (self.y.len() - self.columns.len()) as f64;
            let deviation = (dot(&rest, &rest) / freedom).sqrt();
            let near = |value: f64, right: f64, scale: f64| {
                assert!(
                    (value - right).abs() <= self.tolerance * scale,
                    "{value} for {right}"
                );
            };
            let scale = dot(&self.y, &self.y).sqrt();
            near(deviation, self.deviation, self.deviation.max(1e-3 * scale));
            for (k, value) in basis.coefficients(shares).into_iter().enumerate() {
                near(value, self.coefficients[k], self.coefficients[k].abs());
                // Row k of the inverse of R has the length of the standard error.
                let row = (0..self.columns.len()).map(|j| {
                    let mut unit = vec![0.0; self.columns.len()];
                    unit[j] = 1.0;
                    basis.coefficients(unit)[k]
                });
                let error = self.deviation * row.map(|each| each * each).sum::<f64>().sqrt();
                near(error, self.errors[k], self.errors[k]);
            }
        }
    }

    fn powers(x: &[f64], degree: i32) -> Vec<Vec<f64>> {
        (0..=degree)
            .map(|power| x.iter().map(|x| x.powi(power)).collect())
            .collect()
    }

    fn numbers(text: &str) -> Vec<f64> {
        text.split_whitespace()
            .map(|word| word.parse().unwrap())
            .collect()
    }

    #[test]
    fn longley() {
        let rows = numbers(
            "83.0 234289 2356 1590 107608 1947 60323 88.5 259426 2325 1456 108632 1948 61122
             88.2 258054 3682 1616 109773 1949 60171 89.5 284599 3351 1650 110929 1950 61187
             96.2 328975 2099 3099 112075 1951 63221 98.1 346999 1932 3594 113270 1952 63639
             99.0 365385 1870 3547 115094 1953 64989 100.0 363112 3578 3350 116219 1954 63761
             101.2 397469 2904 3048 117388 1955 66019 104.6 419180 2822 2857 118734 1956 67857
             108.4 442769 2936 2798 120445 1957 68169 110.8 444546 4681 2637 121950 1958 66513
             112.6 482704 3813 2552 123366 1959 68655 114.2 502601 3931 2514 125368 1960 69564
             115.7 518173 4806 2572 127852 1961 69331 116.9 554894 4007 2827 130081 1962 70551",
        );
        let column = |k: usize| rows.chunks(7).map(|row| row[k]).collect::<Vec<f64>>();
        let mut columns = vec![vec![1.0; 16]];
        columns.extend((0..6).map(column));
        Certified {
            columns,
            y: column(6),
            coefficients: vec![
                -3482258.63459582,
                15.0618722713733,
                -0.0358191792925910,
                -2.02022980381683,
                -1.03322686717359,
                -0.0511041056535807,
                1829.15146461355,
            ],
            errors: vec![
                890420.383607373,
                84.9149257747669,
                0.0334910077722432,
                0.488399681651699,
                0.214274163161675,
                0.226073200069370,
                455.478499142212,
            ],
            deviation: (836424.055505915_f64 / 9.0).sqrt(),
            tolerance: 1e-7,
        }
        .check();
    }

    #[test]
    fn norris() {
        let x = numbers(
            "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6
             556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5",
        );
        let y = numbers(
            "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8
             557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2",
        );
        Certified {
            columns: powers(&x, 1),
            y,
            coefficients: vec![-0.262323073774029, 1.00211681802045],
            errors: vec![0.232818234301152, 0.429796848199937e-3],
            deviation: 0.884796396144373,
            tolerance: 1e-10,
        }
        .check();
    }

    #[test]
    fn pontius() {
        let x: Vec<f64> = (0..40).map(|k| 150_000.0 * f64::from(k % 20 + 1)).collect();
        let y = numbers(
            ".11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599 1.52399
             1.63194 1.73947 1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739 .76596 .87474
             .98300 1.09150 1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445 2.06177 2.16829",
        );
        Certified {
            columns: powers(&x, 2),
            y,
            coefficients: vec![
                0.673565789473684e-3,
                0.732059160401003e-6,
                -0.316081871345029e-14,
            ],
            errors: vec![
                0.107938612033077e-3,
                0.157817399981659e-9,
                0.486652849992036e-16,
            ],
            deviation: (0.155761768796992e-5_f64 / 37.0).sqrt(),
            tolerance: 1e-10,
        }
        .check();
    }

    const DELTA: &str = "759 -2048 2048 -2048 2523 -2048 2048 -2048 1838 -2048 2048 -2048 1838 -2048 2048 -2048 2523
        -2048 2048 -2048 759";

    /// Degree 5, with disturbances of three sizes; the disturbance is the difference of the published data sets.
    #[test]
    fn wampler() {
        let x: Vec<f64> = (0..21).map(f64::from).collect();
        let columns = powers(&x, 5);
        let errors = [
            2152.3262467817,
            2363.55173469681,
            779.343524331583,
            101.47550755035,
            5.64566512170752,
            0.112324854679312,
        ];
        let exact: Vec<f64> = (0..21)
            .map(|row| columns.iter().map(|each| each[row]).sum())
            .collect();
        let fifths: Vec<f64> = (0..6).map(|power| 10.0_f64.powi(-power)).collect();
        let wampler2 = numbers(
            "1 1.11111 1.24992 1.42753 1.65984 1.96875 2.38336 2.94117 3.68928 4.68559 6 7.71561 9.92992 12.75603
             16.32384 20.78125 26.29536 33.05367 41.26528 51.16209 63",
        );
        let certified =
            |y: Vec<f64>, coefficients: Vec<f64>, size: f64, tolerance: f64| Certified {
                columns: columns.clone(),
                y,
                coefficients,
                errors: errors.iter().map(|error| error * size).collect(),
                deviation: 2360.14502379268 * size,
                tolerance,
            };
        certified(exact.clone(), vec![1.0; 6], 0.0, 1e-9).check();
        certified(wampler2, fifths, 0.0, 1e-9).check();
        for (size, tolerance) in [(1.0, 1e-9), (100.0, 1e-8), (10_000.0, 1e-6)] {
            let y = exact.iter().zip(numbers(DELTA));
            let y = y.map(|(exact, delta)| exact + size * delta).collect();
            certified(y, vec![1.0; 6], size, tolerance).check();
        }
    }

    #[test]
    fn dependent_columns_are_left_out() {
        let mut basis = Basis::default();
        assert!(basis.push(vec![1.0, 1.0, 1.0]));
        assert!(!basis.push(vec![3.0, 3.0, 3.0]));
        assert!(!basis.push(vec![0.0, 0.0, 0.0]));
        assert!(basis.push(vec![1.0, 2.0, 3.0]));
        assert_eq!(basis.q.len(), 2);
        assert!((basis.leverages().iter().sum::<f64>() - 2.0).abs() < 1e-14);
    }
}
