//! A mesh as a 3MF file: core specification of ISO/IEC 25422, one object in millimetres.
//!
//! The same mesh and label give the same bytes: the entries of the package carry no time.

use std::fmt::{self, Write as _};
use std::io::{Cursor, Write as _};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::mesh::Mesh;
use super::step::Label;

const TYPES: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>
"#;

const RELATIONS: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rel0" Target="/3D/3dmodel.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>
"#;

/// The bytes of a 3MF file of a mesh. Its description states the chord error.
///
/// # Errors
/// [`PackageError`].
pub fn three_mf(mesh: &Mesh, label: &Label) -> Result<Vec<u8>, PackageError> {
    let entries = [
        ("[Content_Types].xml", TYPES),
        ("_rels/.rels", RELATIONS),
        ("3D/3dmodel.model", &model(mesh, label)),
    ];
    let mut package = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let written = entries.iter().try_for_each(|(name, text)| {
        package.start_file(*name, options)?;
        package.write_all(text.as_bytes())?;
        Ok::<(), zip::result::ZipError>(())
    });
    match written.and_then(|()| package.finish()) {
        Ok(bytes) => Ok(bytes.into_inner()),
        Err(error) => Err(PackageError {
            what: error.to_string(),
        }),
    }
}

/// Why a mesh can't be packed: in memory, as good as only because it is too large for the format.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackageError {
    /// What the packer says.
    pub what: String,
}

impl fmt::Display for PackageError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "no 3MF file: {}; choose a larger chord error", self.what)
    }
}

impl std::error::Error for PackageError {}

fn model(mesh: &Mesh, label: &Label) -> String {
    let mut text = String::with_capacity(60 * mesh.points.len() + 50 * mesh.triangles.len());
    let about = match label.description {
        "" => String::new(),
        some => format!("{} ", escaped(some)),
    };
    let _ = write!(
        text,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model unit=\"millimeter\" xml:lang=\"en-GB\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n\
         <metadata name=\"Title\">{title}</metadata>\n\
         <metadata name=\"Description\">{about}Chord error {chord} mm.</metadata>\n\
         <metadata name=\"CreationDate\">{date}</metadata>\n\
         <metadata name=\"Application\">fretwork {version}</metadata>\n\
         <resources><object id=\"1\" type=\"model\" name=\"{title}\"><mesh>\n<vertices>\n",
        title = escaped(label.name),
        chord = mesh.chord_mm,
        date = escaped(label.date),
        version = env!("CARGO_PKG_VERSION"),
    );
    for point in &mesh.points {
        let [x, y, z] = [point.x, point.y, point.z].map(fine);
        let _ = writeln!(text, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    text.push_str("</vertices>\n<triangles>\n");
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(text, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    text.push_str(
        "</triangles>\n</mesh></object></resources>\n<build><item objectid=\"1\"/></build>\n</model>\n",
    );
    text
}

/// A length in mm to a hundredth of a nanometre.
fn fine(value: f64) -> f64 {
    (value * 1e8).round() / 1e8 + 0.0
}

/// Text for XML: markup signs as entities, what XML 1.0 forbids left out.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for each in text.chars() {
        match each {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\n' | '\t' | '\r' => escaped.push(' '),
            '\u{FFFE}' | '\u{FFFF}' => {}
            _ if each < ' ' => {}
            _ => escaped.push(each),
        }
    }
    escaped
}
