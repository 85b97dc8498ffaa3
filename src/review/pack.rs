//! Data of a page in few bytes.

use std::io::{Error, Write};

use flate2::Compression;
use flate2::write::DeflateEncoder;
use serde_json::Value;

use crate::drawing::text::base64;

/// JSON deflated (RFC 1951, without a header) and in base64; browsers inflate it by themselves. The same value gives
/// the same bytes.
pub fn packed(json: &Value) -> String {
    base64(&deflated(json.to_string().as_bytes()).unwrap_or_default())
}

/// Writing to memory does not fail.
fn deflated(bytes: &[u8]) -> Result<Vec<u8>, Error> {
    let mut encoder = DeflateEncoder::new(Vec::new(), Compression::new(9));
    encoder.write_all(bytes)?;
    encoder.finish()
}
