//! Results as JSON objects. What is infinite or unknown is `null`.

use std::path::Path;

use serde_json::{Map, Value, json};

use crate::evaluate::{Judged, Named, Proof, Sheet};
use crate::run::{Finished, Job, Meaning, Mistakes};
use crate::store::{Manifest, OriginRecord};

/// A design's solid answer beside the others.
pub fn proof(design: &str, proof: &Proof) -> Value {
    json!({
        "design": design,
        "figures": proof.rows,
        "hole_peaks": proof.peaks,
        "vibrations": proof.modes,
        "meshes": proof.meshes,
        "remarks": proof.remarks,
    })
}

/// One design.
pub fn sheet(sheet: &Sheet) -> Value {
    json!({
        "design": named(&sheet.variables),
        "derived": named(&sheet.derived),
        "objectives": named(&sheet.objectives),
        "measures": named(&sheet.measures),
        "constraints": sheet.constraints.iter().map(judged).collect::<Map<_, _>>(),
        "sections": sheet.sections,
        "loads": sheet.loads,
        "operations": sheet.plan.operations,
        "cycle_s": sheet.plan.cycle_s,
        "simulated_s": sheet.plan.simulated_s,
        "bench": sheet.plan.bench,
        "bench_s": sheet.plan.bench_s,
        "cost": sheet.plan.cost,
        "currency": sheet.currency,
        "billet": sheet.plan.billet,
        "features": sheet.features,
        "tolerances": sheet.tolerances,
        "mass": sheet.mass,
        "rules": sheet.rules,
        "solid": sheet.proof,
        "calibration": sheet.calibration,
        "remarks": sheet.remarks,
    })
}

fn named(values: &[Named]) -> Map<String, Value> {
    let entry = |value: &Named| {
        (
            value.name.clone(),
            json!({ "value": value.value, "unit": value.unit }),
        )
    };
    values.iter().map(entry).collect()
}

fn judged(constraint: &Judged) -> (String, Value) {
    let value = json!({
        "value": constraint.value,
        "limit": constraint.limit,
        "unit": constraint.unit,
        "relation": constraint.relation,
        "met": constraint.met,
        "margin": constraint.margin,
        "text": constraint.text,
    });
    (constraint.name.clone(), value)
}

/// A run that is over. `complete` is false where it was stopped.
///
/// `run`, `designs`, `feasible`, `front`, `hypervolume`, `seconds`, `complete`; of a rerun also `rerun_of` with the
/// earlier run's folder name, its tool version, and what was changed; where no design is feasible `shortfall`.
pub fn run(
    finished: &Finished,
    folder: &Path,
    seconds: f64,
    complete: bool,
    origin: Option<&OriginRecord>,
) -> Value {
    let mut object = json!({
        "run": folder.display().to_string(),
        "designs": finished.designs.len(),
        "feasible": finished.designs.feasible(),
        "failed": finished.failures.len(),
        "front": finished.front.len(),
        "hypervolume": finished.trace.last().map(|last| last.hypervolume),
        "seconds": seconds,
        "complete": complete,
    });
    if let (Some(shortfall), Value::Object(object)) = (&finished.shortfall, &mut object) {
        object.insert("shortfall".into(), json!(shortfall));
    }
    if let (Some(origin), Value::Object(object)) = (origin, &mut object) {
        let record = json!({ "run": origin.run, "tool": origin.tool, "changes": origin.changes,
            "starts": origin.starts });
        object.insert("rerun_of".into(), record);
    }
    object
}

/// A shard that is over: `run`, `shard`, `of`, `designs`, `feasible`, `seconds`, `complete`.
pub fn shard(manifest: &Manifest, folder: &Path, complete: bool) -> Value {
    json!({
        "run": folder.display().to_string(),
        "shard": manifest.shard.map(|shard| shard.number),
        "of": manifest.shard.map(|shard| shard.of),
        "designs": manifest.designs,
        "feasible": manifest.feasible,
        "seconds": manifest.seconds,
        "complete": complete,
    })
}

/// A study that can be run.
pub fn meaning(job: &Job, meaning: &Meaning, seconds: f64, threads: usize) -> Value {
    let mut object = json!({
        "ok": true,
        "study": job.study,
        "title": job.title,
        "seed": job.seed,
        "evaluations": job.evaluations,
        "seconds": seconds,
        "threads": threads,
        "problems": [],
    });
    if let (Value::Object(object), Ok(Value::Object(more))) =
        (&mut object, serde_json::to_value(meaning))
    {
        object.extend(more);
    }
    object
}

/// A study with mistakes.
pub fn mistakes(study: &str, file: &str, mistakes: &Mistakes) -> Value {
    json!({ "ok": false, "study": study, "file": file, "problems": mistakes.list })
}

#[cfg(test)]
mod tests {
    use super::super::samples;
    use super::*;

    #[test]
    fn a_sheet_has_the_promised_fields() {
        let mut sample = samples::sheet();
        sample.measures[0].value = f64::INFINITY;
        sample.constraints[0].margin = f64::NAN;
        sample.loads[0].safety = f64::INFINITY;
        let json = sheet(&sample);
        for field in ["design", "measures", "constraints", "operations", "loads"] {
            assert!(!json[field].is_null(), "{field}");
        }
        assert_eq!(
            json["design"]["hole"],
            json!({ "value": 2.8, "unit": "mm" })
        );
        assert_eq!(
            json["measures"]["mass"],
            json!({ "value": null, "unit": "g" })
        );
        assert_eq!(json["constraints"]["stiff enough"]["met"], true);
        assert_eq!(json["constraints"]["stiff enough"]["limit"], 100.0);
        assert_eq!(json["constraints"]["stiff enough"]["unit"], "N/mm");
        assert_eq!(json["constraints"]["stiff enough"]["margin"], Value::Null);
        assert_eq!(json["loads"][0]["safety"], Value::Null);
        assert_eq!(json["operations"][0]["name"], "load");
        let text = serde_json::to_string(&json).unwrap();
        assert!(!text.contains("inf") && !text.contains("NaN"), "{text}");
    }

    #[test]
    fn a_run_has_the_promised_fields() {
        let json = run(
            &samples::finished(),
            Path::new("results/yaw-ring-001"),
            1.5,
            true,
            None,
        );
        let expected = json!({
            "run": "results/yaw-ring-001", "designs": 8, "feasible": 7, "failed": 0, "front": 6,
            "hypervolume": 0.75, "seconds": 1.5, "complete": true,
        });
        assert_eq!(json, expected);
    }
}
