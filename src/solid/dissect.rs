//! Order in which a slab's nodes are eliminated: its elements halved again and again, so that what two halves
//! share stays small.
//!
//! Source: George, Nested dissection of a regular finite element mesh, 1973 (from memory); eliminated as
//! fronts, Duff & Reid 1983 (from memory).

use super::slab::Slab;

/// Elements that are assembled at once at the ends of the tree.
const LEAF: usize = 3;

/// A branch of the tree: what two smaller ones leave is joined, or a few elements are assembled; then the
/// nodes are eliminated that nothing outside the branch touches.
#[derive(Clone, Debug)]
pub(super) struct Branch {
    /// The two smaller branches; none for a leaf.
    pub halves: Option<[usize; 2]>,
    /// Elements of a leaf.
    pub elements: Vec<usize>,
    /// Nodes, the eliminated ones first.
    pub nodes: Vec<u32>,
    /// How many are eliminated.
    pub gone: usize,
}

impl Branch {
    /// Nodes that are left.
    pub fn kept(&self) -> &[u32] {
        &self.nodes[self.gone..]
    }
}

/// The branches, each after its halves; the last is the slab, whose kept nodes are those of the two end
/// planes, first plane first, `u32::MAX` for nodes of a plane that the slab does not have.
pub(super) fn dissect(slab: &Slab) -> Vec<Branch> {
    let count = slab.nodes.len();
    let mut touches = vec![0_u32; count];
    for element in &slab.elements {
        for &node in element {
            touches[node as usize] += 1;
        }
    }
    for &node in slab.start.iter().chain(&slab.end) {
        if node != u32::MAX {
            // One more than there are elements, so that it is never done.
            touches[node as usize] += u32::MAX / 2;
        }
    }
    let centres: Vec<[f64; 3]> = slab
        .elements
        .iter()
        .map(|element| slab.nodes[element[13] as usize])
        .collect();
    let mut tree = Tree {
        slab,
        centres,
        touches,
        seen: vec![0; count],
        branches: Vec::new(),
    };
    let mut elements: Vec<usize> = (0..slab.elements.len()).collect();
    let root = tree.grow(&mut elements);
    let root = &mut tree.branches[root];
    root.nodes.truncate(root.gone);
    root.nodes.extend(slab.start.iter().chain(&slab.end));
    in_order(&mut tree.branches, count);
    tree.branches
}

/// Puts the nodes that a branch keeps in the order of the branch that takes it up.
fn in_order(branches: &mut [Branch], count: usize) {
    let mut place = vec![0; count];
    for at in (0..branches.len()).rev() {
        for (index, &node) in branches[at].nodes.iter().enumerate() {
            if node != u32::MAX {
                place[node as usize] = index;
            }
        }
        for half in branches[at].halves.into_iter().flatten() {
            let branch = &mut branches[half];
            branch.nodes[branch.gone..].sort_unstable_by_key(|&node| place[node as usize]);
        }
    }
}

struct Tree<'a> {
    slab: &'a Slab,
    centres: Vec<[f64; 3]>,
    /// Elements at each node.
    touches: Vec<u32>,
    /// Scratch: elements of the branch at hand at each node.
    seen: Vec<u32>,
    branches: Vec<Branch>,
}

impl Tree<'_> {
    fn grow(&mut self, elements: &mut [usize]) -> usize {
        if elements.len() <= LEAF {
            let mut nodes: Vec<u32> = elements
                .iter()
                .flat_map(|&element| self.slab.elements[element])
                .collect();
            nodes.sort_unstable();
            nodes.dedup();
            return self.close(None, elements.to_vec(), nodes, elements);
        }
        let axis = self.longest(elements);
        let middle = elements.len() / 2;
        elements.sort_by(|&a, &b| {
            let (p, q) = (&self.centres[a], &self.centres[b]);
            p[axis].total_cmp(&q[axis]).then(a.cmp(&b))
        });
        let (low, high) = elements.split_at_mut(middle);
        let halves = [self.grow(low), self.grow(high)];
        let mut nodes: Vec<u32> = halves
            .iter()
            .flat_map(|&half| self.branches[half].kept().to_vec())
            .collect();
        nodes.sort_unstable();
        nodes.dedup();
        self.close(Some(halves), Vec::new(), nodes, elements)
    }

    /// Makes the branch: nodes that only its own `inside` elements touch go first.
    fn close(
        &mut self,
        halves: Option<[usize; 2]>,
        elements: Vec<usize>,
        nodes: Vec<u32>,
        inside: &[usize],
    ) -> usize {
        for &element in inside {
            for &node in &self.slab.elements[element] {
                self.seen[node as usize] += 1;
            }
        }
        let done = |node: &u32| self.seen[*node as usize] == self.touches[*node as usize];
        let (mut ordered, kept): (Vec<u32>, Vec<u32>) = nodes.into_iter().partition(done);
        let gone = ordered.len();
        ordered.extend(kept);
        for &element in inside {
            for &node in &self.slab.elements[element] {
                self.seen[node as usize] = 0;
            }
        }
        self.branches.push(Branch {
            halves,
            elements,
            nodes: ordered,
            gone,
        });
        self.branches.len() - 1
    }

    /// The axis along which the elements' centres reach farthest.
    fn longest(&self, elements: &[usize]) -> usize {
        let reach = |axis: usize| {
            let mut range = (f64::INFINITY, f64::NEG_INFINITY);
            for &element in elements {
                let x = self.centres[element][axis];
                range = (range.0.min(x), range.1.max(x));
            }
            range.1 - range.0
        };
        let mut best = 0;
        for axis in 1..3 {
            if reach(axis) > reach(best) + 1e-9 {
                best = axis;
            }
        }
        best
    }
}
