//! From the motion of the pieces' outer planes down to every link's.

use faer::Mat;

use super::chain::{Chain, Stretch};
use super::condense::ACCELERATIONS;
use super::piece::{Laid, Origin, Piece, mirror_mix, mirror_rows, pushed, rotation};
use super::reduce::product;

/// Motion of all links' planes under load cases, and what it takes to go into the slabs.
pub(super) struct Inside {
    pub links: Vec<Ends>,
}

/// A link as its slab sees it.
#[derive(Clone, Debug)]
pub(super) struct Ends {
    /// Whether the slab stands as its own mirror image.
    pub mirrored: bool,
    /// Motion (k, cases) of the slab's two planes in their axes.
    pub ends: Mat<f64>,
    /// Accelerations (3, cases) along its first plane's axes.
    pub push: Mat<f64>,
}

/// A place where a piece stands.
pub(super) struct Task {
    piece: usize,
    /// First link, as the frame counts.
    link: usize,
    own: Ends,
}

impl Task {
    /// A stretch that is one piece, with the ends as the piece has them and accelerations along the stretch's
    /// first axes.
    pub fn new(stretch: &Stretch, piece: &Piece, ends: Mat<f64>, push: Mat<f64>) -> Task {
        let Laid {
            piece: index,
            mirrored,
        } = stretch.laid;
        let push = match mirrored {
            true => product(mirror_mix(piece.turn).as_ref(), push.as_ref()),
            false => push,
        };
        Task {
            piece: index,
            link: stretch.link,
            own: Ends {
                mirrored,
                ends,
                push,
            },
        }
    }
}

impl Inside {
    /// Goes down from pieces to their slabs.
    pub fn below(chain: &Chain, links: usize, tasks: Vec<Task>) -> Inside {
        let mut waiting: Vec<Vec<Task>> = Vec::new();
        waiting.resize_with(chain.pieces.len(), Vec::new);
        for task in tasks {
            waiting[task.piece].push(task);
        }
        let none = Ends {
            mirrored: false,
            ends: Mat::new(),
            push: Mat::new(),
        };
        let mut found = vec![none; links];
        for index in (0..waiting.len()).rev() {
            let here = std::mem::take(&mut waiting[index]);
            match chain.pieces[index].origin {
                Origin::Slab(_) => {
                    for task in here {
                        found[task.link] = task.own;
                    }
                }
                Origin::Join(left, right) if !here.is_empty() => {
                    for task in halved(chain, index, [left, right], here, links) {
                        waiting[task.piece].push(task);
                    }
                }
                Origin::Join(..) => {}
            }
        }
        Inside { links: found }
    }
}

/// The halves of all places where a joined piece stands.
fn halved(
    chain: &Chain,
    index: usize,
    halves: [Laid; 2],
    here: Vec<Task>,
    links: usize,
) -> Vec<Task> {
    let piece = &chain.pieces[index];
    let cases = here[0].own.ends.ncols();
    let (size, many) = (piece.size(), here.len() * cases);
    let mut kept = Mat::zeros(size, many);
    let mut push = Mat::zeros(ACCELERATIONS, many);
    for (at, task) in here.iter().enumerate() {
        let columns = at * cases;
        kept.as_mut()
            .subcols_mut(columns, cases)
            .copy_from(&task.own.ends);
        push.as_mut()
            .subcols_mut(columns, cases)
            .copy_from(&task.own.push);
    }
    let mut middle = pushed(piece.middle.loads.as_ref(), push.as_ref());
    piece.middle.back(middle.as_mut(), kept.as_ref());
    let [left, right] = halves.map(|laid| &chain.pieces[laid.piece]);
    let (first, gone) = (piece.first, middle.nrows());
    let turned = rotation(left.turn);
    let mut tasks = Vec::with_capacity(2 * here.len());
    for (at, task) in here.iter().enumerate() {
        let of = |i: usize, c: usize| middle[(i, at * cases + c)];
        let outer = &task.own.ends;
        let near = Mat::from_fn(first + gone, cases, |i, c| match i < first {
            true => outer[(i, c)],
            false => of(i - first, c),
        });
        let far = Mat::from_fn(gone + size - first, cases, |i, c| match i < gone {
            true => of(i, c),
            false => outer[(first + i - gone, c)],
        });
        let far_push = product(turned.as_ref(), task.own.push.as_ref());
        let ahead = match task.own.mirrored {
            false => [task.link, task.link + left.links],
            true => [task.link + right.links, task.link],
        };
        let parts = [(near, task.own.push.clone()), (far, far_push)];
        for ((laid, link), (ends, push)) in halves.into_iter().zip(ahead).zip(parts) {
            let half = &chain.pieces[laid.piece];
            let (ends, push) = match laid.mirrored {
                false => (ends, push),
                true => (
                    mirror_rows(ends.as_ref(), half.size() - half.first),
                    product(mirror_mix(half.turn).as_ref(), push.as_ref()),
                ),
            };
            tasks.push(Task {
                piece: laid.piece,
                link: link % links,
                own: Ends {
                    mirrored: task.own.mirrored != laid.mirrored,
                    ends,
                    push,
                },
            });
        }
    }
    tasks
}
