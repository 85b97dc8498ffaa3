//! Arithmetic on the 7 x 7 blocks of the frame's equations.
//!
//! A block is stored by rows of eight numbers, the last of them zero, so that every inner loop runs over a
//! whole row and the compiler turns it into vector instructions.

/// Seven rows of seven numbers and a zero.
pub(super) type Block = [[f64; 8]; 7];
/// Seven numbers and a zero.
pub(super) type Row = [f64; 8];

/// A block of zeros.
pub(super) const ZERO: Block = [[0.0; 8]; 7];

/// `row += factor * other`.
#[inline(always)]
pub(super) fn add_row(row: &mut Row, factor: f64, other: &Row) {
    for (value, other) in row.iter_mut().zip(other) {
        *value += factor * other;
    }
}

/// Product of a block and a vector.
#[inline(always)]
pub(super) fn times(block: &Block, vector: &Row) -> Row {
    let mut product = [0.0; 8];
    for (value, row) in product.iter_mut().zip(block) {
        *value = dot(row, vector);
    }
    product
}

/// Product of a symmetric block and a vector.
#[inline(always)]
pub(super) fn symmetric_times(block: &Block, vector: &Row) -> Row {
    transposed_times(block, vector)
}

/// Product of a transposed block and a vector.
#[inline(always)]
pub(super) fn transposed_times(block: &Block, vector: &Row) -> Row {
    let mut product = [0.0; 8];
    for (row, factor) in block.iter().zip(vector) {
        add_row(&mut product, *factor, row);
    }
    product
}

/// Scalar product.
#[inline(always)]
pub(super) fn dot(a: &Row, b: &Row) -> f64 {
    let mut pair = [0.0; 4];
    for k in 0..4 {
        pair[k] = a[k] * b[k] + a[k + 4] * b[k + 4];
    }
    (pair[0] + pair[2]) + (pair[1] + pair[3])
}

/// Product of two blocks.
#[inline(always)]
pub(super) fn product(a: &Block, b: &Block) -> Block {
    let mut out = ZERO;
    for (row, factors) in out.iter_mut().zip(a) {
        for (factor, other) in factors.iter().zip(b) {
            add_row(row, *factor, other);
        }
    }
    out
}

/// Product of a transposed block and another block.
#[inline(always)]
pub(super) fn transposed_product(a: &Block, b: &Block) -> Block {
    let mut out = ZERO;
    for (factors, other) in a.iter().zip(b) {
        for (row, factor) in out.iter_mut().zip(factors) {
            add_row(row, *factor, other);
        }
    }
    out
}

/// `out -= transpose(a) * b`.
#[inline(always)]
pub(super) fn subtract_transposed_product(out: &mut Block, a: &Block, b: &Block) {
    for (factors, other) in a.iter().zip(b) {
        for (row, factor) in out.iter_mut().zip(factors) {
            add_row(row, -*factor, other);
        }
    }
}

/// `a + factor * b`.
#[inline(always)]
pub(super) fn sum(a: &Block, factor: f64, b: &Block) -> Block {
    let mut out = *a;
    for (row, other) in out.iter_mut().zip(b) {
        add_row(row, factor, other);
    }
    out
}

/// The transposed block.
#[inline(always)]
pub(super) fn transpose(a: &Block) -> Block {
    let mut out = ZERO;
    for i in 0..7 {
        for j in 0..7 {
            out[j][i] = a[i][j];
        }
    }
    out
}

/// Inverse G of the Cholesky factor L of a symmetric positive definite block, from its lower triangle.
///
/// With the inverse every substitution is a plain product, whose terms do not wait for each other.
///
/// # Errors
/// The first row whose pivot is not positive.
#[inline(always)]
pub(super) fn cholesky(a: &Block) -> Result<Block, usize> {
    let mut factor = ZERO;
    let mut inverse = ZERO;
    for i in 0..7 {
        let mut line = [0.0; 8];
        line[i] = 1.0;
        let mut pivot = a[i][i];
        for j in 0..i {
            let mut value = a[i][j];
            for k in 0..j {
                value -= factor[i][k] * factor[j][k];
            }
            let value = value * inverse[j][j];
            factor[i][j] = value;
            pivot -= value * value;
            add_row(&mut line, -value, &inverse[j]);
        }
        if !(pivot > 0.0 && pivot.is_finite()) {
            return Err(i);
        }
        let over = 1.0 / pivot.sqrt();
        inverse[i] = line.map(|value| over * value);
    }
    Ok(inverse)
}

/// Replaces `b` by the solution G b of L x = b.
#[inline(always)]
pub(super) fn forward(inverse: &Block, b: &mut Block) {
    for i in (0..7).rev() {
        let mut row = [0.0; 8];
        for j in 0..=i {
            add_row(&mut row, inverse[i][j], &b[j]);
        }
        b[i] = row;
    }
}

/// The solution G b of L x = b.
#[inline(always)]
pub(super) fn forward_vector(inverse: &Block, b: &Row) -> Row {
    times(inverse, b)
}

/// The solution of transpose(L) x = b.
#[inline(always)]
pub(super) fn backward_vector(inverse: &Block, b: &Row) -> Row {
    transposed_times(inverse, b)
}
