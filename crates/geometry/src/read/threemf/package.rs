//! The zip package: finds the parts of a 3MF and unpacks them (Open Packaging Conventions,
//! ECMA-376 part 2).

use std::collections::BTreeMap;
use std::io::Cursor;

use quick_xml::Reader;
use quick_xml::events::Event;
use zip::result::ZipError;
use zip::{CompressionMethod, ZipArchive};

use super::super::ReadError;
use super::super::text::quoted;
use super::MAX_UNPACKED_BYTES;
use super::model::Model;
use super::source::{MAX_TAG_BYTES, Source, Stop};
use super::tag::{attributes, local};

/// Where the model usually is.
const USUAL: &str = "3d/3dmodel.model";
/// The part that tells where the model is.
const RELATIONS: &str = "_rels/.rels";
/// The kind of relation that leads to the model (3MF Core Specification 1.3, section 2.1).
const MODEL_RELATION: &str = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";

/// How to mend a package that is packed otherwise.
const PACK_AGAIN: &str = "unpack it and zip it again without a password and with the usual deflate, or export as binary STL";

/// An open package.
pub(super) struct Package<'a> {
    file: &'a str,
    zip: ZipArchive<Cursor<&'a [u8]>>,
    /// Where each part stands; names are alike in capitals and small letters.
    parts: BTreeMap<String, usize>,
    /// Bytes that may still be unpacked.
    left: u64,
}

/// Reads the tags of one part.
pub(super) struct Tags<'p, R> {
    pub(super) file: &'p str,
    pub(super) part: &'p str,
    reader: Reader<Source<R>>,
    buffer: Vec<u8>,
}

impl<'a> Package<'a> {
    pub(super) fn open(file: &'a str, bytes: &'a [u8]) -> Result<Self, ReadError> {
        let zip = ZipArchive::new(Cursor::new(bytes)).map_err(|error| ReadError::NotAPackage {
            file: file.to_owned(),
            cause: in_short(&error.to_string()),
        })?;
        let mut parts = BTreeMap::new();
        for index in 0..zip.len() {
            if let Some(Ok(name)) = zip.name_for_index(index) {
                parts.entry(part_name(&name)).or_insert(index);
            }
        }
        Ok(Self { file, zip, parts, left: MAX_UNPACKED_BYTES })
    }

    /// The part that holds the model.
    pub(super) fn root_model(&mut self) -> Result<String, ReadError> {
        let mut root = None;
        if self.parts.contains_key(RELATIONS) {
            self.with_tags(RELATIONS, |tags| {
                while let Some(event) = tags.next()? {
                    let (Event::Start(tag) | Event::Empty(tag)) = event else { continue };
                    if local(&tag) != "Relationship" || root.is_some() {
                        continue;
                    }
                    let (mut kind, mut target) = (false, None);
                    for (key, value) in attributes(&tag) {
                        match key {
                            "Type" => kind = value == MODEL_RELATION,
                            "Target" => target = Some(part_name(&value)),
                            _ => {}
                        }
                    }
                    root = target.filter(|_| kind);
                }
                Ok(())
            })?;
        }
        let root = root.unwrap_or_else(|| USUAL.to_owned());
        let root = if self.parts.contains_key(&root) { root } else { USUAL.to_owned() };
        if self.parts.contains_key(&root) {
            return Ok(root);
        }
        Err(ReadError::NoModel { file: self.file.to_owned(), part: root })
    }

    /// Reads a model part.
    pub(super) fn model(&mut self, part: &str) -> Result<Model, ReadError> {
        #[expect(
            clippy::redundant_closure,
            reason = "the function by its name is not general enough over lifetimes"
        )]
        self.with_tags(part, |tags| Model::read(tags))
    }

    fn with_tags<T>(
        &mut self,
        part: &str,
        use_tags: impl FnOnce(
            &mut Tags<'_, zip::read::ZipFile<'_, Cursor<&'a [u8]>>>,
        ) -> Result<T, ReadError>,
    ) -> Result<T, ReadError> {
        let shown = quoted(part.as_bytes());
        let bad = |problem: String, mend: &str| ReadError::Packing {
            file: self.file.to_owned(),
            part: shown.clone(),
            problem,
            mend: mend.to_owned(),
        };
        let Some(&index) = self.parts.get(part) else {
            return Err(bad(
                "the model names this part, but it is not in the package".to_owned(),
                "export the mesh again",
            ));
        };
        let unread =
            |how: String| bad(format!("packed in a way that is not read ({how})"), PACK_AGAIN);
        let file = self.zip.by_index(index).map_err(|error| match error {
            ZipError::CompressionMethodNotSupported(_) | ZipError::UnsupportedArchive(_) => {
                unread(in_short(&error.to_string()))
            }
            error => bad(
                format!("cannot be unpacked ({})", in_short(&error.to_string())),
                "copy or export it again",
            ),
        })?;
        let method = file.compression();
        if !matches!(method, CompressionMethod::Stored | CompressionMethod::Deflated) {
            return Err(unread(in_short(&method.to_string())));
        }
        let mut reader = Reader::from_reader(Source::new(file, self.left));
        reader.config_mut().check_end_names = true;
        let mut tags = Tags { file: self.file, part: &shown, reader, buffer: Vec::new() };
        let value = use_tags(&mut tags)?;
        self.left = tags.reader.get_ref().left;
        Ok(value)
    }
}

impl<R: std::io::Read> Tags<'_, R> {
    /// The next tag or text, or `None` at the end of the part.
    pub(super) fn next(&mut self) -> Result<Option<Event<'_>>, ReadError> {
        self.buffer.clear();
        self.reader.get_mut().begin_tag();
        match self.reader.read_event_into(&mut self.buffer) {
            Ok(Event::Eof) => Ok(None),
            Ok(Event::DocType(_)) => {
                let problem = "a DOCTYPE, which a 3MF must not have".to_owned();
                Err(bad_model(self.file, self.part, self.reader.get_ref().line, problem))
            }
            Ok(event) => Ok(Some(event)),
            Err(error) => Err(unreadable(self.file, self.part, self.reader.get_ref(), &error)),
        }
    }

    /// The line that was read last.
    pub(super) fn line(&self) -> usize {
        self.reader.get_ref().line
    }
}

fn unreadable<R: std::io::Read>(
    file: &str,
    part: &str,
    source: &Source<R>,
    error: &quick_xml::Error,
) -> ReadError {
    let cause = in_short(&error.to_string());
    match (source.stop, error) {
        (Some(Stop::Unpacked), _) => ReadError::UnpacksTooLarge {
            file: file.to_owned(),
            part: part.to_owned(),
            limit: MAX_UNPACKED_BYTES,
        },
        (Some(Stop::Tag), _) => {
            let problem = format!("a tag or text of more than {MAX_TAG_BYTES} bytes");
            bad_model(file, part, source.line, problem)
        }
        (None, quick_xml::Error::Io(_)) => ReadError::Packing {
            file: file.to_owned(),
            part: part.to_owned(),
            problem: format!("damaged or cut short near line {} ({cause})", source.line),
            mend: "copy or export it again".to_owned(),
        },
        (None, _) => bad_model(file, part, source.line, format!("not well-formed XML ({cause})")),
    }
}

/// The complaint about a line of a part.
pub(super) fn bad_model(file: &str, part: &str, line: usize, problem: String) -> ReadError {
    ReadError::BadModel {
        file: file.to_owned(),
        place: format!("{part}, line {line}"),
        problem,
        mend: "export the mesh again, or as binary STL".to_owned(),
    }
}

/// A cause told by a library, on one line and not too long.
fn in_short(cause: &str) -> String {
    quoted(cause.as_bytes())
}

/// The name of a part, without the slash before it and in small letters.
pub(super) fn part_name(path: &str) -> String {
    path.trim_start_matches('/').to_ascii_lowercase()
}
