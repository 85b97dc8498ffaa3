//! The command line: arguments in, exit code out.

use std::io::Write;
use std::process::ExitCode;

use clap::Parser;
use fretwork::cli::Failure;
use fretwork::cli::arguments::{Arguments, Command};
use fretwork::cli::commands::{
    adopt, budget, calibrate, check, compare, completions, gather, handoff, history, list, measure,
    new, prove, rerun, review, run, scatter, screen, tooling, try_design, why, wish,
};
use fretwork::run::Overrides;

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(message) => {
            // Help goes to stdout with 0, a mistake to stderr with 2; a closed stream leaves nobody to tell.
            let _ = message.print();
            return ExitCode::from(if message.use_stderr() { 2 } else { 0 });
        }
    };
    match perform(arguments.command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            let _ = write!(anstream::stderr(), "{failure}");
            ExitCode::from(failure.code())
        }
    }
}

fn perform(command: Command) -> Result<(), Failure> {
    match command {
        Command::New { file } => new::new(&file),
        Command::Check { study, json } => check::check(&study, json),
        Command::Try {
            study,
            set,
            beam,
            paths,
            allow_command,
            json,
        } => try_design::try_design(&study, &set, beam, paths.as_deref(), allow_command, json),
        Command::Prove {
            of,
            set,
            pick,
            to,
            quick,
            json,
        } => prove::prove(&prove::Ask {
            of: &of,
            set: &set,
            pick: &pick,
            to: &to,
            quick,
            as_json: json,
        }),
        Command::Scatter {
            of,
            set,
            pick,
            samples,
            seed,
            json,
        } => scatter::scatter(&scatter::Ask {
            of: &of,
            set: &set,
            pick: &pick,
            samples: samples as usize,
            seed,
            as_json: json,
        }),
        Command::Why { run, pick, json } => why::why(&run, &pick, json),
        Command::Run {
            study,
            results,
            threads,
            seed,
            evaluations,
            shard,
            allow_command,
            minutes,
            json,
        } => {
            let evaluations = evaluations.and_then(|count| usize::try_from(count).ok());
            run::run(&run::Ask {
                study: &study,
                results: &results,
                threads,
                overrides: Overrides { seed, evaluations },
                shard,
                allow_command,
                minutes,
                as_json: json,
            })
        }
        Command::Wish {
            run,
            want,
            least,
            most,
            with,
            results,
            threads,
            seed,
            evaluations,
            json,
        } => {
            let evaluations = evaluations.and_then(|count| usize::try_from(count).ok());
            wish::wish(&wish::Ask {
                run: &run,
                wants: &want,
                least: least.as_deref(),
                most: most.as_deref(),
                limits: &with,
                results: results.as_deref(),
                threads,
                overrides: Overrides { seed, evaluations },
                as_json: json,
            })
        }
        Command::Gather {
            shards,
            results,
            threads,
            json,
        } => gather::gather(&shards, &results, threads, json),
        Command::Screen {
            study,
            measure,
            designs,
            seed,
            plots,
            allow_command,
            json,
        } => screen::screen(&screen::Ask {
            study: &study,
            measures: &measure,
            designs: usize::try_from(designs).unwrap_or(usize::MAX),
            seed,
            plots: plots.as_deref(),
            allow_command,
            as_json: json,
        }),
        Command::Rerun {
            run,
            material,
            machine,
            tools,
            results,
            threads,
            seed,
            evaluations,
            json,
        } => rerun::rerun(&rerun::Ask {
            run: &run,
            material: material.as_deref(),
            machine: machine.as_deref(),
            tools: tools.as_deref(),
            results: results.as_deref(),
            threads,
            overrides: Overrides {
                seed,
                evaluations: evaluations.and_then(|count| usize::try_from(count).ok()),
            },
            as_json: json,
        }),
        Command::Compare {
            before,
            after,
            out,
            json,
        } => compare::compare(&before, &after, out.as_deref(), json),
        Command::Tooling {
            run,
            drill,
            end_mill,
            evaluations,
            json,
        } => {
            let evaluations = evaluations.and_then(|count| usize::try_from(count).ok());
            tooling::tooling(&run, &drill, &end_mill, evaluations, json)
        }
        Command::Review {
            run,
            out,
            decision,
            pdf,
            paper,
            pick,
            plots,
            width,
        } => review::review(&review::Ask {
            run: &run,
            out: out.as_deref(),
            decision: decision.as_deref(),
            pdf: pdf.as_deref(),
            paper,
            pick: &pick,
            plots: plots.as_deref(),
            width,
        }),
        Command::Handoff {
            of,
            pick,
            set,
            to,
            projection,
            paper,
            chord,
            date,
            ledger,
            despite_changes,
            json,
        } => handoff::hand_off(&handoff::Ask {
            of: &of,
            set: &set,
            pick,
            to: to.as_deref(),
            projection,
            paper,
            chord_mm: chord,
            date,
            ledger: ledger.as_deref(),
            despite_changes,
            as_json: json,
        }),
        Command::Adopt {
            run,
            pick,
            reason,
            by,
            date,
            decision,
            ledger,
            baseline,
            despite_changes,
            json,
        } => adopt::adopt(&adopt::Ask {
            run: &run,
            pick,
            reason: reason.as_deref(),
            by: &by,
            date,
            ledger: ledger.as_deref(),
            decision: decision.as_deref(),
            baseline,
            despite_changes,
            as_json: json,
        }),
        Command::History {
            of,
            measure,
            svg,
            page,
            json,
        } => history::history(&history::Ask {
            of: &of,
            measures: &measure,
            svg: svg.as_deref(),
            page: page.as_deref(),
            as_json: json,
        }),
        Command::Budget(ask) => budget::budget(&ask),
        Command::Calibrate(ask) => calibrate::calibrate(&ask),
        Command::Measure(ask) => measure::measure(&ask),
        Command::List { what, file, json } => list::list(what, file.as_deref(), json),
        Command::Completions { shell } => completions::completions(shell),
    }
}
