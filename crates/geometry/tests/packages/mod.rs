//! 3MF packages for tests: parts zipped, and a mesh as a model part.

#![allow(dead_code, reason = "each test file takes what it needs")]
#![allow(clippy::unwrap_used, reason = "a test may fail so")]

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

use geometry::mesh::TriMesh;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Where the model is, as most programs write it.
pub(crate) const MODEL: &str = "3D/3dmodel.model";

pub(crate) const RELATIONS: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
    <Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\n\
    <Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" \
    Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>\n</Relationships>";

/// Zips the parts by deflate.
pub(crate) fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    zipped_by(CompressionMethod::Deflated, parts)
}

pub(crate) fn zipped_by(method: CompressionMethod, parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        zip.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        zip.write_all(content).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A 3MF whose model is `xml`.
pub(crate) fn package(xml: &str) -> Vec<u8> {
    zipped(&[("_rels/.rels", RELATIONS.as_bytes()), (MODEL, xml.as_bytes())])
}

/// A model with these attributes, resources and build.
pub(crate) fn model(attributes: &str, resources: &str, build: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model xml:lang=\"en-US\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" {attributes}>\n\
         <metadata name=\"Title\">invented</metadata>\n\
         <resources>\n{resources}</resources>\n<build>\n{build}</build>\n</model>\n"
    )
}

/// An object with this mesh.
pub(crate) fn object(id: u32, mesh: &TriMesh) -> String {
    let mut xml = format!("<object id=\"{id}\" type=\"model\"><mesh>\n<vertices>\n");
    for p in &mesh.positions {
        writeln!(xml, "<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>", p.x, p.y, p.z).unwrap();
    }
    xml += "</vertices>\n<triangles>\n";
    for [a, b, c] in &mesh.triangles {
        writeln!(xml, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>").unwrap();
    }
    xml + "</triangles>\n</mesh></object>\n"
}

/// A 3MF of one mesh.
pub(crate) fn threemf(mesh: &TriMesh) -> Vec<u8> {
    package(&model("unit=\"millimeter\"", &object(1, mesh), "<item objectid=\"1\"/>\n"))
}
