//! A part file: one block of designs as columns (Apache Parquet), the same bytes for the same designs.
//!
//! Columns: `design` (its number), the columns of the run under their own names, `violation`, `feasible`, and
//! after them the search's own numbers (`search.0`, ...), from which a stopped run is replayed to the bit.
//! Units and roles stand in the file's key-value metadata: `unit hole = mm`.

use std::sync::Arc;

use bytes::Bytes;
use parquet::basic::{Compression, Encoding, Repetition, Type as Physical, ZstdLevel};
use parquet::column::reader::get_typed_column_reader;
use parquet::data_type::{BoolType, DataType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::Type;

use crate::run::Column;

/// Designs of one part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Block {
    /// Number of the first design.
    pub first: usize,
    /// Values, row by row, in the columns' units.
    pub values: Vec<f64>,
    /// Greatest relative violation of each design.
    pub violation: Vec<f64>,
    /// The search's own numbers, row by row.
    pub search: Vec<f64>,
}

/// The bytes of a part file.
pub fn encode(
    columns: &[Column],
    search_width: usize,
    block: &Block,
) -> Result<Vec<u8>, ParquetError> {
    let schema = Arc::new(schema(columns, search_width)?);
    let mut file = SerializedFileWriter::new(Vec::new(), schema, Arc::new(properties(columns)))?;
    let mut group = file.next_row_group()?;
    let count = block.violation.len();
    let numbers: Vec<i64> = (block.first..block.first + count)
        .map(|design| design as i64)
        .collect();
    put::<Int64Type>(&mut group, &numbers)?;
    for column in 0..columns.len() {
        put::<DoubleType>(&mut group, &every(&block.values, column, columns.len()))?;
    }
    put::<DoubleType>(&mut group, &block.violation)?;
    let feasible: Vec<bool> = block
        .violation
        .iter()
        .map(|violation| *violation <= 0.0)
        .collect();
    put::<BoolType>(&mut group, &feasible)?;
    for column in 0..search_width {
        put::<DoubleType>(&mut group, &every(&block.search, column, search_width))?;
    }
    group.close()?;
    file.into_inner()
}

fn schema(columns: &[Column], search_width: usize) -> Result<Type, ParquetError> {
    let field = |name: &str, physical| {
        let field =
            Type::primitive_type_builder(name, physical).with_repetition(Repetition::REQUIRED);
        field.build().map(Arc::new)
    };
    let mut fields = vec![field("design", Physical::INT64)?];
    for column in columns {
        fields.push(field(&column.name, Physical::DOUBLE)?);
    }
    fields.push(field("violation", Physical::DOUBLE)?);
    fields.push(field("feasible", Physical::BOOLEAN)?);
    for index in 0..search_width {
        fields.push(field(&format!("search.{index}"), Physical::DOUBLE)?);
    }
    Type::group_type_builder("designs")
        .with_fields(fields)
        .build()
}

fn properties(columns: &[Column]) -> WriterProperties {
    let pair = |key: String, value: &str| KeyValue {
        key,
        value: Some(value.to_string()),
    };
    let mut words = vec![pair("fretwork.format".into(), &super::FORMAT.to_string())];
    for column in columns {
        words.push(pair(format!("unit {}", column.name), &column.unit));
        words.push(pair(
            format!("role {}", column.name),
            super::manifest::role_word(column.role),
        ));
    }
    WriterProperties::builder()
        .set_created_by(format!(
            "{} version {}",
            env!("CARGO_PKG_NAME"),
            env!("CARGO_PKG_VERSION")
        ))
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_dictionary_enabled(false)
        .set_column_encoding("design".into(), Encoding::DELTA_BINARY_PACKED)
        .set_key_value_metadata(Some(words))
        .build()
}

fn put<T: DataType>(
    group: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
    values: &[T::T],
) -> Result<(), ParquetError> {
    let Some(mut column) = group.next_column()? else {
        return Err(ParquetError::General(
            "more columns than the schema has".into(),
        ));
    };
    column.typed::<T>().write_batch(values, None, None)?;
    column.close()
}

/// One column of numbers that are stored row by row.
fn every(values: &[f64], column: usize, width: usize) -> Vec<f64> {
    values
        .iter()
        .skip(column)
        .step_by(width.max(1))
        .copied()
        .collect()
}

/// The designs in the bytes of a part file; in words what is wrong with it if it is not a part of a run with
/// these columns.
pub fn decode(bytes: Vec<u8>, columns: &[Column], search_width: usize) -> Result<Block, String> {
    let file = SerializedFileReader::new(Bytes::from(bytes)).map_err(|error| error.to_string())?;
    check_columns(&file, columns, search_width)?;
    let metadata = file.metadata();
    let count =
        usize::try_from(metadata.file_metadata().num_rows()).map_err(|error| error.to_string())?;
    let mut numbers = Vec::with_capacity(count);
    let mut block = Block {
        first: 0,
        values: vec![0.0; count * columns.len()],
        violation: vec![0.0; count],
        search: vec![0.0; count * search_width],
    };
    let mut done = 0;
    for group in 0..metadata.num_row_groups() {
        let mut reader = Group {
            file: &file,
            group,
            column: 0,
        };
        let first = reader.take::<Int64Type>()?;
        let end = done + first.len();
        if end > count {
            return Err("more rows than its footer says".into());
        }
        numbers.extend(first);
        for column in 0..columns.len() {
            spread(
                &reader.take::<DoubleType>()?,
                &mut block.values,
                done,
                end,
                column,
                columns.len(),
            )?;
        }
        spread(
            &reader.take::<DoubleType>()?,
            &mut block.violation,
            done,
            end,
            0,
            1,
        )?;
        reader.take::<BoolType>()?;
        for column in 0..search_width {
            spread(
                &reader.take::<DoubleType>()?,
                &mut block.search,
                done,
                end,
                column,
                search_width,
            )?;
        }
        done = end;
    }
    if done != count {
        return Err(format!("{done} rows where its footer says {count}"));
    }
    block.first = numbers.first().map_or(0, |first| *first as usize);
    match numbers
        .iter()
        .enumerate()
        .find(|(row, number)| **number != (block.first + row) as i64)
    {
        Some((row, number)) => Err(format!("row {row} is design {number}, out of order")),
        None => Ok(block),
    }
}

fn check_columns(
    file: &SerializedFileReader<Bytes>,
    columns: &[Column],
    search_width: usize,
) -> Result<(), String> {
    let wanted = schema(columns, search_width).map_err(|error| error.to_string())?;
    let found = file.metadata().file_metadata().schema();
    if found.get_fields().len() != wanted.get_fields().len() {
        let (found, wanted) = (found.get_fields().len(), wanted.get_fields().len());
        return Err(format!("{found} columns where the manifest has {wanted}"));
    }
    for (found, wanted) in found.get_fields().iter().zip(wanted.get_fields()) {
        if found != wanted {
            return Err(format!(
                "column `{}` where the manifest has `{}`",
                found.name(),
                wanted.name()
            ));
        }
    }
    Ok(())
}

/// The next column of a row group, one after another.
struct Group<'a> {
    file: &'a SerializedFileReader<Bytes>,
    group: usize,
    column: usize,
}

impl Group<'_> {
    fn take<T: DataType>(&mut self) -> Result<Vec<T::T>, String> {
        let group = self
            .file
            .get_row_group(self.group)
            .map_err(|error| error.to_string())?;
        let count =
            usize::try_from(group.metadata().num_rows()).map_err(|error| error.to_string())?;
        let reader = group
            .get_column_reader(self.column)
            .map_err(|error| error.to_string())?;
        let mut reader = get_typed_column_reader::<T>(reader);
        let mut values = Vec::new();
        let (rows, _, _) = reader
            .read_records(count, None, None, &mut values)
            .map_err(|error| error.to_string())?;
        if rows != count {
            return Err(format!("{rows} rows in a column of {count}"));
        }
        self.column += 1;
        Ok(values)
    }
}

/// Puts a column into rows `from..to`.
fn spread(
    column: &[f64],
    rows: &mut [f64],
    from: usize,
    to: usize,
    index: usize,
    width: usize,
) -> Result<(), String> {
    if column.len() != to - from {
        return Err(format!(
            "{} values in a column of {}",
            column.len(),
            to - from
        ));
    }
    for (row, value) in column.iter().enumerate() {
        rows[(from + row) * width + index] = *value;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::Role;

    fn columns() -> Vec<Column> {
        let column = |name: &str, unit: &str, role| Column {
            name: name.into(),
            unit: unit.into(),
            role,
        };
        vec![
            column("hole", "mm", Role::Variable),
            column("squeeze.stiffness", "N/mm", Role::Measure),
            column("ratio", "", Role::Derived),
        ]
    }

    fn block() -> Block {
        Block {
            first: 4096,
            values: vec![
                2.5,
                0.1 + 0.2,
                f64::MIN_POSITIVE,
                -0.0,
                f64::INFINITY,
                1.0 / 3.0,
            ],
            violation: vec![0.0, 0.25],
            search: vec![1.0, 2.0, 3.0, 4.0, 5.0, 1e-300],
        }
    }

    fn bits(values: &[f64]) -> Vec<u64> {
        values.iter().map(|value| value.to_bits()).collect()
    }

    #[test]
    fn every_bit_comes_back() {
        let mut block = block();
        block.values[4] = f64::from_bits(0x7ff8_0000_0000_1234);
        let back = decode(encode(&columns(), 3, &block).unwrap(), &columns(), 3).unwrap();
        assert_eq!(bits(&back.values), bits(&block.values));
        assert_eq!(bits(&back.search), bits(&block.search));
        assert_eq!((back.first, back.violation), (block.first, block.violation));
    }

    #[test]
    fn same_designs_same_bytes() {
        assert_eq!(
            encode(&columns(), 3, &block()).unwrap(),
            encode(&columns(), 3, &block()).unwrap()
        );
    }

    #[test]
    fn a_cut_file_is_an_error_wherever_it_is_cut() {
        let whole = encode(&columns(), 3, &block()).unwrap();
        for length in 0..whole.len() {
            assert!(
                decode(whole[..length].to_vec(), &columns(), 3).is_err(),
                "cut to {length} bytes"
            );
        }
    }

    #[test]
    fn other_columns_are_named() {
        let bytes = encode(&columns(), 3, &block()).unwrap();
        let mut other = columns();
        other[0].name = "bore".into();
        let why = decode(bytes, &other, 3).unwrap_err();
        assert_eq!(why, "column `hole` where the manifest has `bore`");
    }

    #[test]
    fn units_stand_in_the_file() {
        let bytes = encode(
            &columns(),
            0,
            &Block {
                search: vec![],
                ..block()
            },
        )
        .unwrap();
        let file = SerializedFileReader::new(Bytes::from(bytes)).unwrap();
        let words = file
            .metadata()
            .file_metadata()
            .key_value_metadata()
            .unwrap();
        let unit = words
            .iter()
            .find(|pair| pair.key == "unit squeeze.stiffness")
            .unwrap();
        assert_eq!(unit.value.as_deref(), Some("N/mm"));
    }
}
