//! The review on paper, read back by a PDF library that had no part in making it.

#[path = "support/invented_run.rs"]
#[allow(dead_code, reason = "the page needs more of it")]
mod invented;

use fretwork::review::{PageFacts, Paper, RevisionMark, paper, slides};
use fretwork::run::Finished;
use invented::invented_run;
use lopdf::{Document, Object};

fn facts() -> PageFacts {
    PageFacts {
        tool_version: "0.1.0".into(),
        run_name: "yaw-ring-007".into(),
        date: "2031-04-05T09:12:33Z".into(),
        drivers: None,
        fingerprint: "0123456789abcdef".into(),
        revisions: Vec::new(),
        decision: None,
    }
}

fn read(bytes: &[u8]) -> Document {
    Document::load_mem(bytes).expect("a PDF file")
}

fn pages(document: &Document) -> Vec<String> {
    let numbers: Vec<u32> = document.get_pages().keys().copied().collect();
    let text = |number: &u32| document.extract_text(&[*number]).expect("text");
    numbers.iter().map(text).collect()
}

/// Text without spaces: a reader may put some where letters are apart.
fn close(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

fn sizes(document: &Document) -> Vec<[f32; 2]> {
    let pages = document.get_pages();
    let size = |page: &lopdf::ObjectId| {
        let page = document.get_dictionary(*page).unwrap();
        let media = page.get(b"MediaBox").unwrap().as_array().unwrap();
        let number = |index: usize| media[index].as_float().unwrap();
        [number(2) - number(0), number(3) - number(1)]
    };
    pages.values().map(size).collect()
}

/// ISO 216: A4 is 210 by 297 mm. Letter is 8.5 by 11 inches (ANSI/ASME Y14.1, size A). A point is 1/72 inch
/// (ISO 32000-1, 8.3.2.3).
#[test]
fn every_page_has_the_size_of_its_paper() {
    let run = invented_run(400, 6);
    let cases = [
        (Paper::A4, [210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0]),
        (Paper::Letter, [8.5 * 72.0, 11.0 * 72.0]),
    ];
    for (size, expected) in cases {
        let bytes = paper(&run, &facts(), size, &[]).unwrap();
        let document = read(&bytes);
        let sizes = sizes(&document);
        assert!(sizes.len() >= 10, "{} pages", sizes.len());
        for own in sizes {
            assert!((own[0] - expected[0] as f32).abs() < 0.02, "{own:?}");
            assert!((own[1] - expected[1] as f32).abs() < 0.02, "{own:?}");
        }
    }
}

#[test]
fn its_words_can_be_found() {
    let run = invented_run(400, 6);
    let document = read(&paper(&run, &facts(), Paper::A4, &[]).unwrap());
    let pages: Vec<String> = pages(&document).iter().map(|page| close(page)).collect();
    let count = pages.len();
    let all = pages.concat();
    for words in [
        run.title.as_str(),
        "yaw-ring-007",
        "squeeze.stiffness",
        "Cautions",
        "Legal owner",
        "Approved by",
    ] {
        assert!(all.contains(&close(words)), "{words} is not on paper");
    }
    assert!(
        pages[0].contains(&format!("page1of{count}")),
        "{}",
        pages[0]
    );
    assert!(pages[count - 1].contains(&format!("page{count}of{count}")));
    // Every constraint stands on the first page as the study gave it.
    for limit in &run.limits {
        assert!(pages[0].contains(&close(&limit.name)), "{}", limit.name);
    }
    // The baseline and six candidates have a drawing sheet each, with its number.
    let sheets = pages.iter().filter(|page| page.contains("Legalowner"));
    assert!(sheets.count() >= 7);
}

/// ISO 32000-1, 9.9: a font whose descriptor has a font file is embedded.
#[test]
fn its_faces_are_embedded() {
    let document = read(&paper(&invented_run(200, 2), &facts(), Paper::A4, &[]).unwrap());
    let dictionaries = document.objects.values().filter_map(|object| match object {
        Object::Dictionary(dictionary) => Some(dictionary),
        _ => None,
    });
    let descriptors: Vec<_> = dictionaries
        .filter(|dictionary| dictionary.has_type(b"FontDescriptor"))
        .collect();
    assert!(!descriptors.is_empty());
    for descriptor in descriptors {
        let files: [&[u8]; 3] = [b"FontFile", b"FontFile2", b"FontFile3"];
        let embedded = files.iter().any(|file| descriptor.has(file));
        assert!(embedded, "{descriptor:?}");
    }
}

#[test]
fn it_has_an_outline_and_says_what_it_is() {
    let run = invented_run(200, 3);
    let document = read(&paper(&run, &facts(), Paper::A4, &[]).unwrap());
    let words: Vec<String> = (document.get_toc().unwrap().toc.iter())
        .map(|entry| entry.title.clone())
        .collect();
    for words_of in [
        "Review",
        "Candidates",
        "Design baseline",
        "What the figures rest on",
        "Cautions",
    ] {
        assert!(
            words.iter().any(|each| each.starts_with(words_of)),
            "{words_of} is not in {words:?}"
        );
    }
    let about = document
        .trailer
        .get(b"Info")
        .and_then(Object::as_reference)
        .unwrap();
    let about = document.get_dictionary(about).unwrap();
    let text = |key: &[u8]| lopdf::decode_text_string(about.get(key).unwrap()).unwrap();
    assert_eq!(text(b"Title"), run.title);
    assert_eq!(text(b"Author"), "fretwork 0.1.0");
    assert!(text(b"CreationDate").starts_with("D:20310405091233"));
}

#[test]
fn the_picks_are_shown_and_no_others() {
    let run = invented_run(400, 6);
    let pick = run.sheets[2].0;
    let document = read(&paper(&run, &facts(), Paper::A4, &[pick, 0, pick, 999_999]).unwrap());
    let toc = document.get_toc().unwrap().toc;
    let designs: Vec<&str> = (toc.iter())
        .map(|entry| entry.title.as_str())
        .filter(|title| title.starts_with("Design "))
        .collect();
    assert_eq!(designs.len(), 2, "{designs:?}");
    assert!(
        designs[1].starts_with(&format!("Design #{pick}")),
        "{designs:?}"
    );
}

#[test]
fn the_same_run_gives_the_same_bytes() {
    let run = invented_run(300, 4);
    let first = paper(&run, &facts(), Paper::A4, &[]).unwrap();
    assert_eq!(first, paper(&run, &facts(), Paper::A4, &[]).unwrap());
    let later = PageFacts {
        date: "2031-04-06T09:12:33Z".into(),
        ..facts()
    };
    assert_ne!(first, paper(&run, &later, Paper::A4, &[]).unwrap());
}

/// A run whose every name is too long, of another script, or turns what follows it.
fn hostile(name: &str) -> Finished {
    let mut run = invented_run(120, 2);
    run.title = name.into();
    run.notes = name.into();
    run.study = name.into();
    run.ending = name.into();
    run.remarks = vec![name.into()];
    for column in &mut run.columns {
        (column.name, column.unit) = (name.into(), name.into());
    }
    for limit in &mut run.limits {
        (limit.name, limit.text) = (name.into(), name.into());
    }
    let sheets = run.sheets.iter_mut().map(|(_, sheet)| sheet);
    for sheet in sheets.chain([&mut run.baseline]) {
        let lists = [
            &mut sheet.variables,
            &mut sheet.measures,
            &mut sheet.objectives,
        ];
        for value in lists.into_iter().flatten() {
            (value.name, value.unit, value.value) = (name.into(), name.into(), f64::NAN);
        }
        for judged in &mut sheet.constraints {
            (judged.name, judged.unit, judged.margin) =
                (name.into(), name.into(), f64::NEG_INFINITY);
        }
        for load in &mut sheet.loads {
            (load.name, load.words) = (name.into(), name.into());
        }
        for operation in &mut sheet.plan.operations {
            (operation.name, operation.tool) = (name.into(), name.into());
        }
        sheet.remarks = vec![name.into(); 3];
    }
    run
}

#[test]
fn hostile_names_are_cut_and_break_nothing() {
    let long = "x".repeat(10_000);
    let words = "many words ".repeat(1_000);
    for name in [
        long.as_str(),
        &words,
        "\u{202e}שלום 你好 \u{0}\u{7}<b>&\u{2028}",
        "",
        "🜁\u{301}\u{301}",
    ] {
        let facts = PageFacts {
            run_name: name.into(),
            date: name.into(),
            tool_version: name.into(),
            revisions: vec![RevisionMark {
                letter: name.into(),
                date: name.into(),
                reason: name.into(),
                run: name.into(),
                design: None,
                values: vec![Some(20.0); 22],
            }],
            ..facts()
        };
        let run = hostile(name);
        let bytes = paper(&run, &facts, Paper::Letter, &[]).unwrap();
        let count = read(&bytes).get_pages().len();
        assert!((5..60).contains(&count), "{count} pages");
        assert!(bytes.len() < 3_000_000, "{} bytes", bytes.len());
        assert!(!slides(&run, &facts).is_empty());
    }
}

#[test]
fn an_empty_front_one_design_and_none_are_fine() {
    let mut none_feasible = invented_run(50, 0);
    none_feasible.designs.violation.fill(0.2);
    none_feasible.front.clear();
    none_feasible.sheets.clear();
    let mut single = invented_run(1, 0);
    single.front = vec![0];
    let mut nothing = invented_run(0, 0);
    nothing.front.clear();
    nothing.trace.clear();
    for (run, least) in [(none_feasible, 4), (single, 5), (nothing, 4)] {
        let document = read(&paper(&run, &facts(), Paper::A4, &[]).unwrap());
        assert!(document.get_pages().len() >= least);
    }
}
