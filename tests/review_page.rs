//! The review page and the plots of an invented run: one safe, small, complete file.

#[path = "support/invented_run.rs"]
mod invented;

use fretwork::review::{PageFacts, page, plots};
use invented::invented_run;

fn facts() -> PageFacts {
    PageFacts {
        tool_version: "0.1.0".into(),
        run_name: "yaw-ring-2031-04-05-1".into(),
        date: "5 April 2031".into(),
    }
}

#[test]
fn pages_for_the_browser_are_written() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("review");
    std::fs::create_dir_all(&folder).unwrap();
    let write = |name: &str, run: &fretwork::run::Finished| {
        std::fs::write(folder.join(name), page(run, &facts())).unwrap();
    };
    let run = invented_run(20_000, 250);
    write("plain.html", &run);
    for (stem, svg) in plots(&run) {
        std::fs::write(folder.join(stem + ".svg"), svg).unwrap();
    }
}
