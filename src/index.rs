//! Lists whose indexes say what they are of: one of a step can't be given for one of a subject.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::ops::{Deref, Index, IndexMut};

/// The index of one `Of` among all in a list of them.
pub struct Ix<Of> {
    place: usize,
    of: PhantomData<fn() -> Of>,
}

impl<Of> Ix<Of> {
    /// The first.
    pub const FIRST: Self = Self::at(0);

    /// The one at a place, counted from 0.
    pub const fn at(place: usize) -> Self {
        Self { place, of: PhantomData }
    }

    /// Its place, counted from 0.
    pub const fn place(self) -> usize {
        self.place
    }
}

// Derived, these would ask the same of what is indexed.
impl<Of> Clone for Ix<Of> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<Of> Copy for Ix<Of> {}

impl<Of> Default for Ix<Of> {
    fn default() -> Self {
        Self::FIRST
    }
}

impl<Of> fmt::Debug for Ix<Of> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.place.fmt(f)
    }
}

impl<Of> PartialEq for Ix<Of> {
    fn eq(&self, other: &Self) -> bool {
        self.place == other.place
    }
}

impl<Of> Eq for Ix<Of> {}

impl<Of> PartialOrd for Ix<Of> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<Of> Ord for Ix<Of> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.place.cmp(&other.place)
    }
}

impl<Of> Hash for Ix<Of> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.place.hash(state);
    }
}

/// A list that is indexed by the `Of` that its items are, or belong to.
#[derive(Debug, Clone)]
pub struct Indexed<Of, T = Of> {
    items: Vec<T>,
    of: PhantomData<fn() -> Of>,
}

impl<Of, T> Indexed<Of, T> {
    /// Every index, in order.
    pub fn indexes(&self) -> impl DoubleEndedIterator<Item = Ix<Of>> + ExactSizeIterator + Clone + use<Of, T> {
        (0..self.items.len()).map(Ix::at)
    }

    /// Every item with its index, in order.
    pub fn indexed(&self) -> impl DoubleEndedIterator<Item = (Ix<Of>, &T)> + ExactSizeIterator + Clone {
        self.items.iter().enumerate().map(|(place, item)| (Ix::at(place), item))
    }

    /// The index of the first item of which this is true.
    pub fn index_of(&self, is: impl FnMut(&T) -> bool) -> Option<Ix<Of>> {
        self.items.iter().position(is).map(Ix::at)
    }

    /// The item of an index that may be of another list.
    pub fn get(&self, index: Ix<Of>) -> Option<&T> {
        self.items.get(index.place)
    }

    /// The same, to be changed.
    pub fn get_mut(&mut self, index: Ix<Of>) -> Option<&mut T> {
        self.items.get_mut(index.place)
    }

    /// Every item, to be changed.
    pub fn iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.items.iter_mut()
    }
}

impl<Of, T> From<Vec<T>> for Indexed<Of, T> {
    fn from(items: Vec<T>) -> Self {
        Self { items, of: PhantomData }
    }
}

impl<Of, T> FromIterator<T> for Indexed<Of, T> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        Vec::from_iter(items).into()
    }
}

impl<'a, Of, T> IntoIterator for &'a Indexed<Of, T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.iter()
    }
}

impl<Of, T> Deref for Indexed<Of, T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.items
    }
}

impl<Of, T> Index<Ix<Of>> for Indexed<Of, T> {
    type Output = T;

    fn index(&self, index: Ix<Of>) -> &T {
        &self.items[index.place]
    }
}

impl<Of, T> IndexMut<Ix<Of>> for Indexed<Of, T> {
    fn index_mut(&mut self, index: Ix<Of>) -> &mut T {
        &mut self.items[index.place]
    }
}

/// A value for each pair of a `Row` and a `Column`.
#[derive(Debug, Clone)]
pub struct Grid<Row, Column, T> {
    columns: usize,
    /// Row by row.
    cells: Vec<T>,
    of: PhantomData<fn() -> (Row, Column)>,
}

impl<Row, Column, T> Grid<Row, Column, T> {
    /// A grid of so many rows and columns, each cell filled by its place.
    pub fn new(rows: usize, columns: usize, mut cell: impl FnMut(Ix<Row>, Ix<Column>) -> T) -> Self {
        let cells = (0..rows * columns).map(|at| cell(Ix::at(at / columns), Ix::at(at % columns))).collect();
        Self { columns, cells, of: PhantomData }
    }

    /// A cell.
    pub fn get(&self, row: Ix<Row>, column: Ix<Column>) -> Option<&T> {
        self.cells.get(row.place * self.columns + column.place)
    }

    /// A cell, to be changed.
    pub fn get_mut(&mut self, row: Ix<Row>, column: Ix<Column>) -> Option<&mut T> {
        self.cells.get_mut(row.place * self.columns + column.place)
    }

    /// Every cell with its place, row by row.
    pub fn cells(&self) -> impl Iterator<Item = ((Ix<Row>, Ix<Column>), &T)> {
        self.cells.iter().enumerate().map(|(at, cell)| ((Ix::at(at / self.columns), Ix::at(at % self.columns)), cell))
    }
}
