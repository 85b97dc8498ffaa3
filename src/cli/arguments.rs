//! What can be asked for on the command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueHint};
use clap_complete::Shell;

use super::rooms::{Catalogue, DrawingPaper, Paper, Projection};
use crate::ledger::Date;
use crate::run::Shard;

/// Which revision of a light machined frame should be cut next, and what is given up for it?
#[derive(Debug, Parser)]
#[command(
    version,
    name = "fretwork",
    max_term_width = 80,
    subcommand_required = true,
    arg_required_else_help = true,
    after_help = "\
Examples:
  fretwork new ring.toml               write a commented study to start from
  fretwork check ring.toml             read it, say what it means
  fretwork try ring.toml --set 'hole=2.8 mm'
                                       one design in full, beside the baseline
  fretwork screen ring.toml            which dimension drives what
  fretwork run ring.toml               explore; folder and page in results/
  fretwork rerun results/ring-001 --material al7075_t651
                                       the same again in another alloy
  fretwork compare results/ring-001 results/ring-002
                                       what moved, and why
  fretwork why results/ring-001        what holds a candidate
  fretwork scatter results/ring-001    what the process's tolerances do to it
  fretwork adopt results/ring-001 --pick 7 --reason 'lighter'
                                       the next revision
  fretwork history ring.toml           what became of the figures
  fretwork budget gimbal.budget.toml   what all parts weigh, and the next gram
  fretwork measure ring.toml --from rig.csv
                                       what was read of a made part
  fretwork list materials              what the built-in catalogue knows

Exit codes: 0 done; 2 a mistake in the call or the study; 1 anything else."
)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// Commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented study to start from
    #[command(after_help = "\
Examples:
  fretwork new                         writes study.toml
  fretwork new tilt-arm.toml
An existing file is never replaced.")]
    New {
        /// File to write
        #[arg(default_value = "study.toml", value_hint = ValueHint::FilePath)]
        file: PathBuf,
    },

    /// Read a study and say what it means
    #[command(after_help = "\
Examples:
  fretwork check studies/yaw-ring.toml
  fretwork check studies/yaw-ring.toml --json")]
    Check {
        /// Study file
        #[arg(value_hint = ValueHint::FilePath)]
        study: PathBuf,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Evaluate one design and print its sheet
    #[command(after_help = "\
Examples:
  fretwork try studies/yaw-ring.toml   today's revision
  fretwork try studies/yaw-ring.toml --set 'hole=3 mm' --set 'pitch=6 mm'
  fretwork try studies/yaw-ring.toml --paths tool-paths
  fretwork try studies/yaw-ring.toml --json | jq .measures.mass")]
    Try {
        /// Study file
        #[arg(value_hint = ValueHint::FilePath)]
        study: PathBuf,
        /// Give a design variable another value than the baseline's
        #[arg(long, value_name = "NAME=VALUE", value_parser = assignment)]
        set: Vec<(String, String)>,
        /// Leave the solid out
        #[arg(long)]
        beam: bool,
        /// Folder for drawings of the tool path, one a setup
        #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
        paths: Option<PathBuf>,
        /// Run the program that the study names as its evaluator
        #[arg(long)]
        allow_command: bool,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Solve designs as solids on the finest mesh, with pictures
    #[command(after_help = "\
Examples:
  fretwork prove studies/yaw-ring.toml --set 'hole=3 mm'
  fretwork prove results/yaw-ring-001 --pick 1804 --pick 2210
  fretwork prove studies/yaw-ring.toml --quick --json")]
    Prove {
        /// Study file or run folder
        #[arg(value_hint = ValueHint::AnyPath)]
        of: PathBuf,
        /// Give a design variable of a study another value than the baseline's
        #[arg(long, value_name = "NAME=VALUE", value_parser = assignment)]
        set: Vec<(String, String)>,
        /// Design of a run [default: the first candidate]
        #[arg(long, value_name = "ID")]
        pick: Vec<usize>,
        /// Folder for the pictures
        #[arg(long, value_name = "DIR", default_value = "proofs", value_hint = ValueHint::DirPath)]
        to: PathBuf,
        /// Coarse and fine mesh instead of fine and finest
        #[arg(long)]
        quick: bool,
        /// Print one JSON object a design
        #[arg(long)]
        json: bool,
    },

    /// Scatter a design as the shop would: chances, quantiles, tolerances
    #[command(after_help = "\
Examples:
  fretwork scatter studies/yaw-ring.toml
  fretwork scatter studies/yaw-ring.toml --set 'hole=3 mm' --samples 4096
  fretwork scatter results/yaw-ring-001 --pick 1804 --json

Dimensions deviate as the process's tolerances say (`fretwork try` lists them);
`[[scatter]]` in the study adds variables, material and loads, or takes the place
of a dimension's tolerance. Chances of meeting constraints, where the scatter
comes from, and which tolerance to tighten or relax.")]
    Scatter {
        /// Study file or run folder
        #[arg(value_hint = ValueHint::AnyPath)]
        of: PathBuf,
        /// Give a design variable of a study another value than the baseline's
        #[arg(long, value_name = "NAME=VALUE", value_parser = assignment)]
        set: Vec<(String, String)>,
        /// Design of a run [default: the first candidate]
        #[arg(long, value_name = "ID")]
        pick: Vec<usize>,
        /// Copies of each design
        #[arg(long, value_name = "N", default_value_t = 1024, value_parser = clap::value_parser!(u32).range(64..=1_000_000))]
        samples: u32,
        /// Seed of the copies [default: the study's]
        #[arg(long, value_name = "S")]
        seed: Option<u64>,
        /// Print one JSON object a design
        #[arg(long)]
        json: bool,
    },

    /// Say why a candidate is as it is, and what it would cost to be better
    #[command(after_help = "\
Examples:
  fretwork why results/yaw-ring-001
  fretwork why results/yaw-ring-001 --pick 1804 --pick 2210
  fretwork why results/yaw-ring-001 --pick 1804 --json

Constraints and bounds that hold it, what one objective costs in another along
the front, its nearest neighbours, and what every single step of a dimension
would break or cost. Every step is evaluated.")]
    Why {
        /// Run folder
        #[arg(value_hint = ValueHint::DirPath)]
        run: PathBuf,
        /// Design of the run [default: the first candidate]
        #[arg(long, value_name = "ID")]
        pick: Vec<usize>,
        /// Print one JSON object a design
        #[arg(long)]
        json: bool,
    },

    /// Explore a study: front, run folder, review page
    #[command(after_help = "\
Examples:
  fretwork run studies/yaw-ring.toml
  fretwork run studies/yaw-ring.toml --evaluations 4000 --seed 2 --threads 2
  fretwork run studies/yaw-ring.toml --json | jq -r .run

Ctrl-C ends the run at the next block and leaves a folder that can be used; the
same call goes on with it. A second Ctrl-C ends at once. The same seed gives the
same designs on any number of threads.")]
    Run {
        /// Study file
        #[arg(value_hint = ValueHint::FilePath)]
        study: PathBuf,
        /// Folder for run folders
        #[arg(long, value_name = "DIR", default_value = "results", value_hint = ValueHint::DirPath)]
        results: PathBuf,
        /// Threads to evaluate on [default: all processors]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
        threads: Option<u16>,
        /// Seed of the search [default: the study's]
        #[arg(long, value_name = "S")]
        seed: Option<u64>,
        /// Designs to evaluate [default: the study's]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
        evaluations: Option<u64>,
        /// Evaluate shard I of N only, for several machines; gather them after
        #[arg(long, value_name = "I/N", value_parser = shard)]
        shard: Option<Shard>,
        /// Stop after so many minutes, as Ctrl-C does
        #[arg(long, value_name = "M", value_parser = minutes)]
        minutes: Option<f64>,
        /// Run the program that the study names as its evaluator
        #[arg(long)]
        allow_command: bool,
        /// Print one closing JSON object
        #[arg(long)]
        json: bool,
    },

    /// Put the shards of a run together
    #[command(after_help = "\
Examples:
  fretwork run study.toml --shard 1/2 --results shards
  fretwork run study.toml --shard 2/2 --results shards
  fretwork gather shards/study-*

The designs, front and proofs are those of the run in one piece, to the byte. A
shard that is missing or unfinished is named. Shards may be evaluated side by
side on any machines with this program; studies/cluster has a job array.")]
    Gather {
        /// Folders of the shards, in any order
        #[arg(required = true, value_hint = ValueHint::DirPath)]
        shards: Vec<PathBuf>,
        /// Folder for run folders
        #[arg(long, value_name = "DIR", default_value = "results", value_hint = ValueHint::DirPath)]
        results: PathBuf,
        /// Threads to evaluate on [default: all processors]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
        threads: Option<u16>,
        /// Print one closing JSON object
        #[arg(long)]
        json: bool,
    },

    /// Say which dimension drives what
    #[command(after_help = "\
Examples:
  fretwork screen studies/yaw-ring.toml
  fretwork screen studies/yaw-ring.toml --measure mass --measure frequency
  fretwork screen studies/yaw-ring.toml --plots drivers --designs 50000
  fretwork screen studies/yaw-ring.toml --json | jq .measures[0].drivers

Designs are spread over the whole space; for each measure the variance is shared
among the dimensions. Unasked, the measures are those that objectives and
constraints speak of. Figures are the beam's.")]
    Screen {
        /// Study file
        #[arg(value_hint = ValueHint::FilePath)]
        study: PathBuf,
        /// Measure, derived value or objective to look at
        #[arg(long, value_name = "NAME")]
        measure: Vec<String>,
        /// Designs to evaluate at most
        #[arg(long, value_name = "N", default_value_t = 20_000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
        designs: u64,
        /// Seed of the designs [default: the study's]
        #[arg(long, value_name = "S")]
        seed: Option<u64>,
        /// Folder for pictures, some a measure
        #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
        plots: Option<PathBuf>,
        /// Run the program that the study names as its evaluator
        #[arg(long)]
        allow_command: bool,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Do a run again with another material, machine or stock of tools
    #[command(after_help = "\
Examples:
  fretwork rerun results/yaw-ring-001 --material al7075_t651
  fretwork rerun results/yaw-ring-001 --machine fast_small_vmc --evaluations 8000
  fretwork rerun results/yaw-ring-001 --tools drawer.toml

FILE lists the tools in stock, either kind or both; what it leaves out stays:
  drills = [\"2 mm\", \"2.7 mm\", \"4 mm\"]
  end_mills = [\"2 mm\", \"4 mm\"]
Below, it may describe tools, materials and machines of your own, as a catalogue
file does. Candidates of the earlier run are evaluated first; variables that
choose from the tools follow the new stock. `fretwork compare` shows what moved.")]
    Rerun {
        /// Folder of a finished run
        #[arg(value_hint = ValueHint::DirPath)]
        run: PathBuf,
        /// Material [default: the run's]
        #[arg(long, value_name = "ID")]
        material: Option<String>,
        /// Machine [default: the run's]
        #[arg(long, value_name = "ID")]
        machine: Option<String>,
        /// File with the tools in stock [default: the run's]
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        tools: Option<PathBuf>,
        /// Folder for run folders [default: the one that holds RUN]
        #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
        results: Option<PathBuf>,
        /// Threads to evaluate on [default: all processors]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
        threads: Option<u16>,
        /// Seed of the search [default: the run's]
        #[arg(long, value_name = "S")]
        seed: Option<u64>,
        /// Designs to evaluate [default: as many as the run]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
        evaluations: Option<u64>,
        /// Print one closing JSON object
        #[arg(long)]
        json: bool,
    },

    /// Find the design of a run that comes nearest to a wish
    #[command(after_help = "\
Examples:
  fretwork wish results/yaw-ring-001 --want 'mass=45 g' \\
    --want 'tilt.stiffness=260 N/mm'
  fretwork wish results/yaw-ring-001 --least mass \\
    --with 'tilt.stiffness >= 260 N/mm' --with 'cycle_time <= 20 min'

Nearest is what falls least short in its worst objective, each measured by how
far the front spreads in it. The run's candidates are evaluated first; what is
found goes to a run folder of its own.")]
    Wish {
        /// Folder of a finished run
        #[arg(value_hint = ValueHint::DirPath)]
        run: PathBuf,
        /// What an objective should be at best
        #[arg(long, value_name = "NAME=VALUE", value_parser = assignment, conflicts_with_all = ["least", "most"])]
        want: Vec<(String, String)>,
        /// One formula that is to be least, in the place of the objectives
        #[arg(long, value_name = "FORMULA", conflicts_with = "most")]
        least: Option<String>,
        /// One formula that is to be most
        #[arg(long, value_name = "FORMULA")]
        most: Option<String>,
        /// Further constraint
        #[arg(long, value_name = "LIMIT")]
        with: Vec<String>,
        /// Folder for run folders [default: the one that holds RUN]
        #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
        results: Option<PathBuf>,
        /// Threads to evaluate on [default: all processors]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
        threads: Option<u16>,
        /// Seed of the search [default: the run's]
        #[arg(long, value_name = "S")]
        seed: Option<u64>,
        /// Designs to evaluate [default: as many as the run]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
        evaluations: Option<u64>,
        /// Print one closing JSON object
        #[arg(long)]
        json: bool,
    },

    /// Compare two runs: who stays on the front, what moved and why
    #[command(after_help = "\
Examples:
  fretwork compare results/yaw-ring-001 results/yaw-ring-002
  fretwork compare results/yaw-ring-001 results/yaw-ring-002 --out alloys.html
  fretwork compare results/yaw-ring-001 results/yaw-ring-002 --json | jq .counts

Every candidate of the earlier run is evaluated under the later run's conditions,
and each difference is split by cause: study, material, tools, machine, law
(solid over beam, as each run learnt it), tool version. A share is what a cause
changes where it comes next, averaged over all orders of the causes, so none is
preferred and the shares add up. Both runs must vary the same dimensions.")]
    Compare {
        /// Folder of the earlier run
        #[arg(value_hint = ValueHint::DirPath)]
        before: PathBuf,
        /// Folder of the later run
        #[arg(value_hint = ValueHint::DirPath)]
        after: PathBuf,
        /// New file to write a page to, for a browser [default: no page]
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        out: Option<PathBuf>,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Say what one more tool in stock would bring to a run
    #[command(after_help = "\
Examples:
  fretwork tooling results/yaw-ring-001
  fretwork tooling results/yaw-ring-001 --drill '2.7 mm' --end-mill '1.5 mm'
  fretwork tooling results/yaw-ring-001 --evaluations 4000 --json

The run's study is searched again without and with each tool by itself. Unasked,
the drills between, below and above those in stock are tried.")]
    Tooling {
        /// Run folder
        #[arg(value_hint = ValueHint::DirPath)]
        run: PathBuf,
        /// Drill of the catalogue that is not in stock
        #[arg(long, value_name = "SIZE")]
        drill: Vec<String>,
        /// End mill of the catalogue that is not in stock
        #[arg(long, value_name = "SIZE")]
        end_mill: Vec<String>,
        /// Designs of each search [default: the run's]
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
        evaluations: Option<u64>,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Make the review of a run: page, paper, pictures for slides
    #[command(after_help = "\
Examples:
  fretwork review results/yaw-ring-001
  fretwork review results/yaw-ring-001 --out meeting.html
  fretwork review results/yaw-ring-001 --pdf meeting.pdf --pick 1804 --pick 2210
  fretwork review results/yaw-ring-001 --pdf meeting.pdf --paper letter
  fretwork review results/yaw-ring-001 --plots slides --width 3000
  fretwork review results/yaw-ring-002 --decision yaw-ring-decision.toml

Without --pdf and --plots the page is made anew; with them it is left alone,
unless --out names a file for it. On paper stand the front, a list of candidates,
and drawings and figures of today's revision and of every pick; without --pick,
of up to six candidates spread along the front. Each plot is written as SVG and
as PNG. Revisions of the ledger beside the study are marked everywhere.")]
    Review {
        /// Run folder
        #[arg(value_hint = ValueHint::DirPath)]
        run: PathBuf,
        /// New file to write the page to [default: review.html of the run]
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        out: Option<PathBuf>,
        /// New PDF file to write the review to
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        pdf: Option<PathBuf>,
        /// Size of its paper
        #[arg(long, value_enum, default_value_t = Paper::A4, requires = "pdf")]
        paper: Paper,
        /// Design that it shows in full
        #[arg(long, value_name = "ID", requires = "pdf")]
        pick: Vec<usize>,
        /// Folder for plots, for slides
        #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
        plots: Option<PathBuf>,
        /// Dots across a PNG
        #[arg(long, value_name = "N", default_value_t = 2000, requires = "plots", value_parser = clap::value_parser!(u32).range(100..=8000))]
        width: u32,
        /// Put the picks and words of a decision onto the page
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        decision: Option<PathBuf>,
    },

    /// Hand a design off to be drawn and cut: solid, mesh, drawing, tables
    #[command(after_help = "\
Examples:
  fretwork handoff results/yaw-ring-001 --pick 1804
  fretwork handoff results/yaw-ring-001 --pick 1804 --to to-the-mill
  fretwork handoff studies/yaw-ring.toml --set 'hole=3 mm'

The files go into a new folder, whole or not at all; in it a README says what
they are of, how to read them and what to beware of. A design that was adopted
carries the letter of its revision, others say that they are for review only.")]
    Handoff {
        /// Run folder, or study file
        #[arg(value_hint = ValueHint::AnyPath)]
        of: PathBuf,
        /// Design of the run; 0 is today's revision
        #[arg(long, value_name = "ID")]
        pick: Option<usize>,
        /// Give a design variable of a study another value than the baseline's
        #[arg(long, value_name = "NAME=VALUE", value_parser = assignment)]
        set: Vec<(String, String)>,
        /// New folder for the files [default: handoff-ID in the run]
        #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
        to: Option<PathBuf>,
        /// Which way views are placed: first or third angle
        #[arg(long, value_enum, default_value_t = Projection::First)]
        projection: Projection,
        /// Paper of the drawing
        #[arg(long, value_enum, default_value_t = DrawingPaper::A3)]
        paper: DrawingPaper,
        /// How far the mesh may be from the solid
        #[arg(long, value_name = "LENGTH", default_value = "0.01 mm", value_parser = length_mm)]
        chord: f64,
        /// Day of issue [default: today, UTC]
        #[arg(long, value_name = "YYYY-MM-DD")]
        date: Option<Date>,
        /// File of the ledger [default: STUDY.ledger.toml beside the study]
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        ledger: Option<PathBuf>,
        /// Hand off although the study has changed since the run
        #[arg(long)]
        despite_changes: bool,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Adopt a design of a run as the next revision of its study
    #[command(after_help = "\
Examples:
  fretwork adopt results/yaw-ring-001 --pick 1804 \\
    --reason 'lighter by 9 g, stiff enough' --by 'N. Author'
  fretwork adopt results/yaw-ring-001 --decision decision.toml --baseline
  fretwork adopt results/yaw-ring-001 --pick 0 --reason 'as cut today'

The ledger is STUDY.ledger.toml beside the study, made to be kept under version
control: an entry is added at its end, earlier ones stay as they are. The study
is looked for in this folder, in studies, and where the results are. Letters run
A, B, C ... without I, O, Q, S, X and Z; AA follows Y.")]
    Adopt {
        /// Run folder
        #[arg(value_hint = ValueHint::DirPath)]
        run: PathBuf,
        /// Design of the run; 0 is today's revision [default: the decision's]
        #[arg(long, value_name = "ID")]
        pick: Option<usize>,
        /// Why, as it is to stand in the ledger [default: the decision's]
        #[arg(long, value_name = "TEXT")]
        reason: Option<String>,
        /// Who decided; may be given several times [default: the decision's]
        #[arg(long, value_name = "NAME")]
        by: Vec<String>,
        /// Day of the decision [default: the decision's, else today]
        #[arg(long, value_name = "YYYY-MM-DD")]
        date: Option<Date>,
        /// Decision that the review page exported
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        decision: Option<PathBuf>,
        /// Ledger [default: the one beside the study]
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        ledger: Option<PathBuf>,
        /// Make the design the study's baseline
        #[arg(long)]
        baseline: bool,
        /// Adopt although the study has changed since the run
        #[arg(long)]
        despite_changes: bool,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Show what became of a study from revision to revision
    #[command(after_help = "\
Examples:
  fretwork history studies/yaw-ring.toml
  fretwork history studies/yaw-ring.toml --page history.html --svg history.svg
  fretwork history studies/yaw-ring.toml --measure cost --measure frequency
  fretwork history yaw-ring.ledger.toml --json | jq .revisions[-1].reason

Unasked, the measures are the objectives of the last revision; page and picture
show whatever all revisions tell, as far as it moved. An edited or damaged
ledger is reported by line, never written over.")]
    History {
        /// Study, or its ledger
        #[arg(value_hint = ValueHint::FilePath)]
        of: PathBuf,
        /// Measure to show, instead of the objectives
        #[arg(long, value_name = "NAME")]
        measure: Vec<String>,
        /// New file to draw the measures to
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        svg: Option<PathBuf>,
        /// New file to write a page to, for a browser
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        page: Option<PathBuf>,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },

    /// Add up a product's mass, and say where the next gram is cheapest
    #[command(after_help = "\
Examples:
  fretwork budget studies/gimbal.budget.toml
  fretwork budget studies/gimbal.budget.toml --results results
  fretwork budget studies/gimbal.budget.toml --run results/yaw-ring-001 \\
    --at-most 'mass=340 g' --at-most 'cycle_time=110 min'
  fretwork budget studies/gimbal.budget.toml --results results \\
    --against cycle_time --page budget.html --svg budget.svg

A budget lists parts of studies by their revision, bought parts and fasteners,
with basis, growth allowance and limits. Where parts have runs, their fronts are
combined exactly: the best choice of candidates over all parts for a total mass,
cost or cycle time, and every step along the fronts, the cheapest gram first.")]
    Budget(super::commands::budget::Ask),

    /// Put on record what was measured of a made part
    #[command(after_help = "\
Examples:
  fretwork measure studies/yaw-ring.toml
                                       what was measured, beside what was predicted
  fretwork measure studies/yaw-ring.toml --revision C --part C-003 \\
      --by 'N. Author' --instrument 'balance 2' --readability '0.01 g' \\
      --weigh '31.02 g' --weigh '31.01 g' --weigh '31.02 g'
  fretwork measure studies/yaw-ring.toml --revision C --from rig.csv
  fretwork measure studies/yaw-ring.toml --repeatability mass --tolerance '1 g'

Records stand in STUDY.measured.toml beside the ledger, are added at its end and
never written again. A file of readings (--from) is a table with the columns
kind, of, load, way, value, or a TOML file of [[record]]; what it leaves open
(revision, part, date, by, instrument) the call says.")]
    Measure(super::commands::measure::Measure),

    /// Say what measured parts tell of the model, as a few factors
    #[command(after_help = "\
Examples:
  fretwork calibrate studies/yaw-ring.toml
  fretwork calibrate studies/yaw-ring.toml --hold-back C-003 --svg fit.svg
  fretwork calibrate studies/yaw-ring.toml --only density --only modulus
  fretwork calibrate studies/yaw-ring.toml --apply

Factors: density and modulus (of the catalogue's), wall (mm that floors, walls
and ribs come out thicker), joint (give in mm/N of what is held), overhead (s an
operation), acceleration (of the machine's). One whose interval holds the value
that changes nothing is not applied. Applied, they stand in the study's table
[calibration]; later runs go by them, and every sheet says so.")]
    Calibrate(super::commands::calibrate::Calibrate),

    /// List a catalogue
    #[command(after_help = "\
Examples:
  fretwork list drills
  fretwork list materials --file own.toml
  fretwork list machines --json")]
    List {
        /// Catalogue
        #[arg(value_enum)]
        what: Catalogue,
        /// Own catalogue file that adds to the built-in one or overrides it
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        file: Option<PathBuf>,
        /// Print one JSON list
        #[arg(long)]
        json: bool,
    },

    /// Print a completion script for a shell
    #[command(after_help = "\
Examples:
  fretwork completions bash > ~/.local/share/bash-completion/completions/fretwork
  fretwork completions fish > ~/.config/fish/completions/fretwork.fish")]
    Completions {
        /// Shell
        #[arg(value_enum)]
        shell: Shell,
    },
}

/// `NAME=VALUE` cut at the first equals sign.
pub(crate) fn assignment(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok((name.trim().to_string(), value.trim().to_string()))
        }
        _ => Err("write NAME=VALUE, as in 'hole=2.8 mm'".into()),
    }
}

/// A length with its unit, in mm.
fn length_mm(text: &str) -> Result<f64, String> {
    match crate::units::read_quantity(text) {
        Ok((value, unit)) if unit.dimension == crate::units::Dimension::LENGTH => Ok(value),
        _ => Err("write a length with its unit, as in '0.01 mm'".into()),
    }
}

/// A time above 0, in minutes.
fn minutes(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(minutes) if minutes > 0.0 && minutes <= 1e6 => Ok(minutes),
        _ => Err("write minutes, as in 30 or 0.5".into()),
    }
}

/// `I/N`, I from 1 to N.
fn shard(text: &str) -> Result<Shard, String> {
    let numbers = text
        .split_once('/')
        .and_then(|(number, of)| Some((number.trim().parse().ok()?, of.trim().parse().ok()?)));
    match numbers {
        Some((number, of)) if 1 <= number && number <= of && of <= 100_000 => {
            Ok(Shard { number, of })
        }
        _ => Err("write I/N, I from 1 to N, as in 3/8".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_commands_are_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn help_fits_a_terminal() {
        let mut command = Arguments::command();
        command.build();
        for part in std::iter::once(&mut command.clone()).chain(command.get_subcommands_mut()) {
            let help = part.render_long_help().to_string();
            for line in help.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
            assert!(
                help.contains("Examples:") || part.get_name() == "help",
                "{help}"
            );
        }
    }

    #[test]
    fn shards_are_counted_from_one() {
        let all = |number, of| Ok(Shard { number, of });
        assert_eq!((shard("1/1"), shard("3/8")), (all(1, 1), all(3, 8)));
        for wrong in ["", "3", "0/4", "5/4", "1/0", "a/b", "-1/4", "1/4/2"] {
            assert!(shard(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn assignments_have_a_name_and_a_value() {
        assert_eq!(
            assignment("hole=2.8 mm"),
            Ok(("hole".into(), "2.8 mm".into()))
        );
        assert_eq!(assignment(" a = b=c"), Ok(("a".into(), "b=c".into())));
        for wrong in ["hole", "hole=", "=3", ""] {
            assert!(assignment(wrong).is_err(), "{wrong}");
        }
    }
}
