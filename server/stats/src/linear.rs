//! The little linear algebra that the fits need: symmetric matrices and their Cholesky factor.

/// A symmetric matrix; only the lower triangle is kept up.
#[derive(Debug, Clone)]
pub(crate) struct Symmetric {
    size: usize,
    /// Row by row, the triangle above the diagonal unused.
    cells: Vec<f64>,
}

impl Symmetric {
    pub(crate) fn zero(size: usize) -> Self {
        Self { size, cells: vec![0.0; size * size] }
    }

    /// Adds to a place, and so to its mirror image.
    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        self.cells[row.max(column) * self.size + row.min(column)] += value;
    }

    /// Row `row` of the lower triangle, up to the diagonal.
    pub(crate) fn row_mut(&mut self, row: usize) -> &mut [f64] {
        &mut self.cells[row * self.size..=row * self.size + row]
    }

    fn row(&self, row: usize) -> &[f64] {
        &self.cells[row * self.size..=row * self.size + row]
    }

    /// With this part of its largest diagonal element, in size, added to all of them.
    pub(crate) fn damped(mut self, part: f64) -> Self {
        let largest = (0..self.size).fold(0.0, |most: f64, at| most.max(self.row(at)[at].abs()));
        for at in 0..self.size {
            self.row_mut(at)[at] += part * largest;
        }
        self
    }

    /// The lower triangular L with L L' = this; `None` unless this is positive definite.
    pub(crate) fn cholesky(mut self) -> Option<Cholesky> {
        for row in 0..self.size {
            for column in 0..=row {
                let (left, above) = (self.row(row), self.row(column));
                let rest = left[column] - dot(&left[..column], &above[..column]);
                let value = if row > column {
                    rest / above[column]
                } else if rest > 0.0 && rest.is_finite() {
                    rest.sqrt()
                } else {
                    return None;
                };
                self.row_mut(row)[column] = value;
            }
        }
        Some(Cholesky(self))
    }

    /// d' A⁻ d and the rank of A, for A positive semidefinite and d in its range. Rows that depend
    /// on those before them are left out.
    pub(crate) fn inverse_form(mut self, mut vector: Vec<f64>) -> (f64, u32) {
        let (mut form, mut rank) = (0.0, 0);
        let scales: Vec<f64> = (0..self.size).map(|row| self.row(row)[row]).collect();
        for step in 0..self.size {
            let pivot = self.row(step)[step];
            if pivot <= DEPENDENT * scales[step] {
                continue;
            }
            form += vector[step] * vector[step] / pivot;
            rank += 1;
            let column: Vec<f64> = (step..self.size).map(|row| self.row(row)[step]).collect();
            for row in step + 1..self.size {
                let factor = column[row - step] / pivot;
                vector[row] -= factor * vector[step];
                for (cell, value) in self.row_mut(row)[step + 1..].iter_mut().zip(&column[1..]) {
                    *cell -= factor * value;
                }
            }
        }
        (form, rank)
    }
}

/// A row of which no more than this part is left depends on those before it.
const DEPENDENT: f64 = 1e-10;

/// L of a positive definite A = L L'.
#[derive(Debug)]
pub(crate) struct Cholesky(Symmetric);

impl Cholesky {
    /// x of A x = b.
    pub(crate) fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut x = right.to_vec();
        self.forward(&mut x, 0);
        for row in (0..x.len()).rev() {
            let lower = self.0.row(row);
            x[row] /= lower[row];
            let known = x[row];
            for (other, factor) in x[..row].iter_mut().zip(lower) {
                *other -= factor * known;
            }
        }
        x
    }

    /// The diagonal of A⁻¹: the squared columns of L⁻¹.
    pub(crate) fn inverse_diagonal(&self) -> Vec<f64> {
        (0..self.0.size)
            .map(|place| {
                let mut unit = vec![0.0; self.0.size];
                unit[place] = 1.0;
                self.forward(&mut unit, place);
                dot(&unit, &unit)
            })
            .collect()
    }

    /// Solves L y = b in place, b being 0 before row `from`.
    fn forward(&self, vector: &mut [f64], from: usize) {
        for row in from..vector.len() {
            let lower = self.0.row(row);
            let rest = vector[row] - dot(&lower[from..row], &vector[from..row]);
            vector[row] = rest / lower[row];
        }
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn symmetric(rows: &[&[f64]]) -> Symmetric {
        let mut found = Symmetric::zero(rows.len());
        for (place, row) in rows.iter().enumerate() {
            found.row_mut(place).copy_from_slice(row);
        }
        found
    }

    fn near(found: &[f64], want: &[f64]) {
        assert_eq!(found.len(), want.len());
        for (found, want) in found.iter().zip(want) {
            assert!((found - want).abs() < 1e-12, "{found} is not {want}");
        }
    }

    /// Worked by hand: A = [[4, 2, 0], [2, 5, 2], [0, 2, 5]] has L = [[2], [1, 2], [0, 1, 2]] and
    /// A (1, 1, 1) = (6, 9, 7).
    #[test]
    fn a_factor_solves() {
        let factor = symmetric(&[&[4.0], &[2.0, 5.0], &[0.0, 2.0, 5.0]]).cholesky().unwrap();
        near(factor.0.row(1), &[1.0, 2.0]);
        near(factor.0.row(2), &[0.0, 1.0, 2.0]);
        near(&factor.solve(&[6.0, 9.0, 7.0]), &[1.0, 1.0, 1.0]);
        // The adjugate's diagonal 21, 20, 16 by the determinant 64.
        near(&factor.inverse_diagonal(), &[21.0 / 64.0, 20.0 / 64.0, 16.0 / 64.0]);
    }

    #[test]
    fn what_is_not_positive_definite_has_no_factor() {
        assert!(symmetric(&[&[1.0], &[2.0, 1.0]]).cholesky().is_none());
        assert!(symmetric(&[&[0.0]]).cholesky().is_none());
        assert!(symmetric(&[&[f64::NAN]]).cholesky().is_none());
    }

    /// By hand: without the last, dependent row and column, (1, 0) [[2, -1], [-1, 2]]⁻¹ (1, 0)'
    /// is 2/3. The matrix is that of a triangle of pairs, each seen once.
    #[test]
    fn a_form_leaves_dependent_rows_out() {
        let triangle = symmetric(&[&[2.0], &[-1.0, 2.0], &[-1.0, -1.0, 2.0]]);
        let (form, rank) = triangle.inverse_form(vec![1.0, 0.0, -1.0]);
        near(&[form], &[2.0 / 3.0]);
        assert_eq!(rank, 2);
        assert_eq!(Symmetric::zero(3).inverse_form(vec![0.0; 3]).1, 0);
    }
}
