//! `manifest.json`: what the run folder is and holds. Records of their own, with a format number, so that the
//! program's types can change without old folders becoming unreadable.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::error::StoreError;
use super::files;
use crate::run::{Change, Column, Goal, Job, LawRow, Limit, Origin, Role, Shard};

/// Format number of run folders. Raise it when a folder of today could not be read by the program of
/// yesterday, or the other way round.
pub const FORMAT: u64 = 1;

/// Name of the manifest in its folder.
pub const MANIFEST: &str = "manifest.json";

/// How far a run is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Being written, or killed while it was.
    Running,
    /// Ended early on request; goes on when the same run is asked for again.
    Stopped,
    /// Complete.
    Finished,
}

/// What the run folder is and holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Format number of the folder.
    pub format: u64,
    /// Program and version: `fretwork 0.1.0`.
    pub tool: String,
    /// File stem of the study.
    pub study: String,
    /// Title of the study.
    pub title: String,
    /// How far the run is.
    pub status: Status,
    /// How it ended, in words.
    pub ending: String,
    /// Seed of the search.
    pub seed: u64,
    /// Evaluations asked for.
    pub evaluations: usize,
    /// SHA-256 over all that the designs follow from.
    pub fingerprint: String,
    /// When it was begun (RFC 3339, UTC).
    pub started: String,
    /// When the manifest was written last (RFC 3339, UTC).
    pub written: String,
    /// Time spent on the run, in s, over all its sittings.
    pub seconds: f64,
    /// Designs in the part files.
    pub designs: usize,
    /// Of these feasible.
    pub feasible: usize,
    /// Designs on the front; 0 while it runs.
    pub front: usize,
    /// Hypervolume of the front; 0 while it runs.
    pub hypervolume: f64,
    /// Columns of the designs.
    pub columns: Vec<ColumnRecord>,
    /// Number of the search's own numbers a design.
    pub search_width: usize,
    /// Objectives.
    pub objectives: Vec<GoalRecord>,
    /// Constraints.
    pub constraints: Vec<LimitRecord>,
    /// How good the law is that the figures rest on; empty where they rest on something else.
    #[serde(default)]
    pub law: Vec<LawRecord>,
    /// What the reader must know of the figures.
    #[serde(default)]
    pub remarks: Vec<String>,
    /// The earlier run that this one does again; absent where it does none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rerun_of: Option<OriginRecord>,
    /// Which shard of a run this is; absent where it is a whole one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shard: Option<ShardRecord>,
    /// Files that the study's command names, with the SHA-256 of their contents; absent where it asks no program.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub program: BTreeMap<String, String>,
    /// Files of the folder.
    pub files: BTreeMap<String, FileRecord>,
}

/// A column, as the manifest writes it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ColumnRecord {
    /// Name.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// `variable`, `derived`, `measure`, `objective`.
    pub role: String,
}

/// An objective, as the manifest writes it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GoalRecord {
    /// Index of its column.
    pub column: usize,
    /// `least` or `most`.
    pub sense: String,
}

/// A constraint, as the manifest writes it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LimitRecord {
    /// Name.
    pub name: String,
    /// As written in the study.
    pub text: String,
}

/// How good the law is for one figure, as the manifest writes it, in per cent; absent what is not known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LawRecord {
    /// Measure.
    pub name: String,
    /// Median of solid over beam.
    pub ratio: Option<f64>,
    /// Root mean square on designs of the space that were left out of the fit.
    pub space_rms_percent: Option<f64>,
    /// Worst of these.
    pub space_worst_percent: Option<f64>,
    /// How many they are.
    pub space_designs: usize,
    /// Root mean square on designs of a front that the law had not seen.
    pub front_rms_percent: Option<f64>,
    /// Worst of these.
    pub front_worst_percent: Option<f64>,
    /// How many they are.
    pub front_designs: usize,
}

impl LawRecord {
    pub(super) fn of(row: &LawRow) -> LawRecord {
        let known = |value: f64| value.is_finite().then_some(value);
        LawRecord {
            name: row.name.clone(),
            ratio: known(row.ratio),
            space_rms_percent: known(row.space_percent.0),
            space_worst_percent: known(row.space_percent.1),
            space_designs: row.space_designs,
            front_rms_percent: known(row.front_percent.0),
            front_worst_percent: known(row.front_percent.1),
            front_designs: row.front_designs,
        }
    }
}

/// An earlier run that is done again, as the manifest writes it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OriginRecord {
    /// Name of its folder.
    pub run: String,
    /// Its fingerprint.
    pub fingerprint: String,
    /// Program and version that made it.
    pub tool: String,
    /// What is otherwise.
    pub changes: Vec<ChangeRecord>,
    /// Candidates of it that were evaluated first.
    pub starts: usize,
}

/// Which shard of a run, as the manifest writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShardRecord {
    /// Which, from 1.
    pub number: usize,
    /// How many there are.
    pub of: usize,
}

impl ShardRecord {
    pub(super) fn of(shard: Shard) -> ShardRecord {
        ShardRecord {
            number: shard.number,
            of: shard.of,
        }
    }
}

/// A condition that differs, as the manifest writes it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChangeRecord {
    /// What differs.
    pub what: String,
    /// What it was.
    pub from: String,
    /// What it is.
    pub to: String,
}

impl OriginRecord {
    pub(super) fn of(origin: &Origin) -> OriginRecord {
        let change = |change: &Change| ChangeRecord {
            what: change.what.clone(),
            from: change.from.clone(),
            to: change.to.clone(),
        };
        OriginRecord {
            run: origin.run.clone(),
            fingerprint: origin.fingerprint.clone(),
            tool: origin.tool.clone(),
            changes: origin.changes.iter().map(change).collect(),
            starts: origin.starts.len(),
        }
    }
}

/// A file, as the manifest knows it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileRecord {
    /// Length in bytes.
    pub bytes: u64,
    /// SHA-256 of its contents.
    pub sha256: String,
}

impl FileRecord {
    /// Record of a file with these contents.
    pub fn of(bytes: &[u8]) -> Self {
        FileRecord {
            bytes: bytes.len() as u64,
            sha256: files::sha256(bytes),
        }
    }
}

impl Manifest {
    /// The manifest of a folder.
    ///
    /// # Errors
    /// `NoManifest`, `BadManifest`, `UnknownFormat`, `Read`.
    pub fn read(folder: &Path) -> Result<Manifest, StoreError> {
        let path = folder.join(MANIFEST);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(cause) => {
                return Err(match cause.kind() {
                    std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory => {
                        StoreError::NoManifest {
                            folder: folder.to_path_buf(),
                        }
                    }
                    std::io::ErrorKind::InvalidData => StoreError::BadManifest {
                        path,
                        why: "it is not UTF-8 text".into(),
                    },
                    _ => StoreError::Read { path, cause },
                });
            }
        };
        parse(&text, &path)
    }

    /// Writes it into its folder.
    pub fn write(&self, folder: &Path) -> Result<(), StoreError> {
        let path = folder.join(MANIFEST);
        let text = serde_json::to_string_pretty(self)
            .map_err(|error| StoreError::write(&path, std::io::Error::other(error)))?;
        files::write_whole(&path, format!("{text}\n").as_bytes())
    }

    /// Columns as the program knows them; in words what is wrong with them.
    pub(super) fn columns(&self) -> Result<Vec<Column>, String> {
        let column = |record: &ColumnRecord| {
            let role = role_of(&record.role)
                .ok_or(format!("role `{}` of a column is unknown", record.role))?;
            Ok(Column {
                name: record.name.clone(),
                unit: record.unit.clone(),
                role,
            })
        };
        self.columns.iter().map(column).collect()
    }

    /// Objectives as the program knows them; in words what is wrong with them.
    pub(super) fn goals(&self) -> Result<Vec<Goal>, String> {
        let goal = |record: &GoalRecord| {
            if record.column >= self.columns.len() {
                return Err(format!(
                    "objective in column {} of {}",
                    record.column,
                    self.columns.len()
                ));
            }
            match record.sense.as_str() {
                "least" => Ok(Goal {
                    column: record.column,
                    most: false,
                }),
                "most" => Ok(Goal {
                    column: record.column,
                    most: true,
                }),
                other => Err(format!("sense `{other}` of an objective is unknown")),
            }
        };
        self.objectives.iter().map(goal).collect()
    }

    /// Constraints as the program knows them.
    pub(super) fn limits(&self) -> Vec<Limit> {
        let limit = |record: &LimitRecord| Limit {
            name: record.name.clone(),
            text: record.text.clone(),
        };
        self.constraints.iter().map(limit).collect()
    }
}

fn parse(text: &str, path: &Path) -> Result<Manifest, StoreError> {
    let bad = |why: String| StoreError::BadManifest {
        path: path.to_path_buf(),
        why,
    };
    let value: serde_json::Value =
        serde_json::from_str(text).map_err(|error| bad(error.to_string()))?;
    // The number is looked at first: a later format may lack anything else.
    match value.get("format").and_then(serde_json::Value::as_u64) {
        Some(FORMAT) => serde_json::from_value(value).map_err(|error| bad(error.to_string())),
        Some(found) => Err(StoreError::UnknownFormat {
            path: path.to_path_buf(),
            found,
        }),
        None => Err(bad("it has no format number".into())),
    }
}

/// Records of columns, objectives and constraints.
pub(super) fn records(
    columns: &[Column],
    goals: &[Goal],
    limits: &[Limit],
) -> (Vec<ColumnRecord>, Vec<GoalRecord>, Vec<LimitRecord>) {
    let column = |column: &Column| ColumnRecord {
        name: column.name.clone(),
        unit: column.unit.clone(),
        role: role_word(column.role).into(),
    };
    let goal = |goal: &Goal| GoalRecord {
        column: goal.column,
        sense: if goal.most { "most" } else { "least" }.into(),
    };
    let limit = |limit: &Limit| LimitRecord {
        name: limit.name.clone(),
        text: limit.text.clone(),
    };
    (
        columns.iter().map(column).collect(),
        goals.iter().map(goal).collect(),
        limits.iter().map(limit).collect(),
    )
}

const ROLES: [(Role, &str); 4] = [
    (Role::Variable, "variable"),
    (Role::Derived, "derived"),
    (Role::Measure, "measure"),
    (Role::Objective, "objective"),
];

pub(super) fn role_word(role: Role) -> &'static str {
    ROLES
        .iter()
        .find(|(known, _)| *known == role)
        .map_or("measure", |(_, word)| word)
}

fn role_of(word: &str) -> Option<Role> {
    ROLES
        .iter()
        .find(|(_, known)| *known == word)
        .map(|(role, _)| *role)
}

/// SHA-256 over all that the designs of a run follow from: the texts, the numbers, the program.
pub fn fingerprint(study: &str, catalogue: &str, seed: u64, evaluations: usize) -> String {
    let mut all = Vec::new();
    let (seed, evaluations) = (seed.to_string(), evaluations.to_string());
    let format = FORMAT.to_string();
    for field in [
        &format,
        tool().as_str(),
        study,
        catalogue,
        &seed,
        &evaluations,
    ] {
        // Lengths keep the end of one field from passing for the start of the next.
        all.extend((field.len() as u64).to_le_bytes());
        all.extend(field.as_bytes());
    }
    files::sha256(&all)
}

/// Fingerprint of a run: a rerun's designs follow from the earlier run's candidates too.
pub(super) fn fingerprint_of(job: &Job) -> String {
    let own = fingerprint(
        &job.study_text,
        &job.catalogue_text,
        job.seed,
        job.evaluations,
    );
    // A program that was changed may give other answers.
    let own = match job.program.as_slice() {
        [] => own,
        program => files::sha256(format!("{own} asking {program:?}").as_bytes()),
    };
    let own = match &job.origin {
        None => own,
        Some(origin) => files::sha256(format!("{own} after {}", origin.fingerprint).as_bytes()),
    };
    match job.shard {
        None => own,
        Some(Shard { number, of }) => {
            files::sha256(format!("{own} shard {number} of {of}").as_bytes())
        }
    }
}

/// Program and version.
pub fn tool() -> String {
    format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fingerprint_sees_every_part() {
        let base = fingerprint("study", "catalogue", 1, 100);
        assert_eq!(base, fingerprint("study", "catalogue", 1, 100));
        for other in [
            fingerprint("studyc", "atalogue", 1, 100),
            fingerprint("study ", "catalogue", 1, 100),
            fingerprint("study", "catalogues", 1, 100),
            fingerprint("study", "catalogue", 2, 100),
            fingerprint("study", "catalogue", 1, 101),
            fingerprint("study", "catalogue", 11, 0),
        ] {
            assert_ne!(base, other);
        }
    }

    #[test]
    fn a_later_format_is_told_from_a_broken_file() {
        let path = Path::new("x/manifest.json");
        assert!(matches!(
            parse(r#"{"format": 7, "new": []}"#, path),
            Err(StoreError::UnknownFormat { found: 7, .. })
        ));
        for broken in [
            "",
            "{",
            "[]",
            r#"{"format": "1"}"#,
            r#"{"format": 1}"#,
            r#"{"format": -1}"#,
        ] {
            assert!(
                matches!(parse(broken, path), Err(StoreError::BadManifest { .. })),
                "{broken}"
            );
        }
    }
}
