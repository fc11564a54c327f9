//! Why a mesh file was refused: the file, the place in it, and what mends it.

/// Why a file could not be read. Every message names the file, the place and the mend.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// Nothing of that name exists.
    #[error("{file}: there is no such file; check the name and the folder")]
    Missing {
        /// The file.
        file: String,
    },
    /// A folder was given in place of a file.
    #[error("{file}: this is a folder; name the mesh file inside it")]
    Folder {
        /// The folder.
        file: String,
    },
    /// A device, pipe or socket.
    #[error("{file}: this is not an ordinary file; save the mesh as a file first")]
    Special {
        /// The name given.
        file: String,
    },
    /// The file could not be opened or read.
    #[error("{file}: cannot be read ({cause}); check that you may open it and that the disk is in")]
    Io {
        /// The file.
        file: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// No bytes at all.
    #[error("{file}: the file is empty (0 bytes); export the mesh again")]
    Empty {
        /// The file.
        file: String,
    },
    /// More bytes than [`MAX_FILE_BYTES`](super::MAX_FILE_BYTES).
    #[error(
        "{file}: {bytes} bytes is more than the limit of {limit} bytes; reduce the number of triangles in the scan program and export again"
    )]
    TooLarge {
        /// The file.
        file: String,
        /// Its size.
        bytes: u64,
        /// The largest size that is read.
        limit: u64,
    },
    /// Neither STL nor OBJ nor PLY nor 3MF.
    #[error("{file}: not an STL, OBJ, PLY or 3MF file; export the mesh again as binary STL")]
    UnknownFormat {
        /// The file.
        file: String,
    },
    /// Too short to be an STL file at all.
    #[error(
        "{file}: {bytes} bytes are too few for an STL file (the least is 84); copy or export it again"
    )]
    StlTooShort {
        /// The file.
        file: String,
        /// Its size.
        bytes: usize,
    },
    /// A binary STL that ends before its last triangle.
    #[error(
        "{file}: cut short at byte {bytes}: {promised} triangles are promised, {present} are present; copy or export it again"
    )]
    StlCutShort {
        /// The file.
        file: String,
        /// Its size.
        bytes: usize,
        /// Triangles by the header.
        promised: u32,
        /// Whole triangles in the file.
        present: u32,
    },
    /// Text marked or named as STL that holds no facet.
    #[error(
        "{file}: {place}: meant to be an STL in text form, but there is no \"facet\" in it; export again as binary STL"
    )]
    NoFacets {
        /// The file.
        file: String,
        /// Where it was looked for.
        place: String,
    },
    /// The text ends inside something.
    #[error("{file}: line {line}: the file ends inside {within}; copy or export it again")]
    TextCutShort {
        /// The file.
        file: String,
        /// The last line.
        line: usize,
        /// What was begun and not finished.
        within: String,
    },
    /// A line that does not read as it should.
    #[error("{file}: line {line}: expected {expected}, found \"{found}\"; {mend}")]
    BadLine {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// What should stand there.
        expected: String,
        /// What stands there, shortened.
        found: String,
        /// What to do.
        mend: String,
    },
    /// A PLY header that describes no mesh.
    #[error("{file}: line {line}: {problem}; export again, best as binary STL")]
    BadHeader {
        /// The file.
        file: String,
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        problem: String,
    },
    /// A coordinate that is not a number, or infinite.
    #[error(
        "{file}: {place}: a coordinate is not a finite number; repair the mesh in the scan program, or delete that triangle, and export again"
    )]
    NotFinite {
        /// The file.
        file: String,
        /// The triangle, vertex or line.
        place: String,
    },
    /// A face names a vertex that does not exist.
    #[error(
        "{file}: {place}: vertex {index} is named, but {range}; the file is damaged: export it again"
    )]
    IndexOutOfRange {
        /// The file.
        file: String,
        /// The face or line.
        place: String,
        /// The index as written in the file.
        index: i64,
        /// Which indices would be right.
        range: String,
    },
    /// A header that promises more than the file holds.
    #[error(
        "{file}: {place}: {promised} {what} are promised, which need at least {needed} bytes, but {present} bytes are left; the file is cut short or damaged: copy or export it again"
    )]
    PromisesTooMuch {
        /// The file.
        file: String,
        /// Where the promise stands.
        place: String,
        /// What is promised.
        what: String,
        /// How many.
        promised: u64,
        /// The least size of that many.
        needed: u128,
        /// Bytes that are left.
        present: usize,
    },
    /// A binary body that ends early although its header seemed to fit.
    #[error("{file}: cut short at byte {bytes}, inside {within}; copy or export it again")]
    CutShort {
        /// The file.
        file: String,
        /// Its size.
        bytes: usize,
        /// The element that is incomplete.
        within: String,
    },
    /// Begins like a zip package, or is named as one, but cannot be opened.
    #[error(
        "{file}: meant to be a 3MF, but it is no whole zip package ({cause}); copy or export it again"
    )]
    NotAPackage {
        /// The file.
        file: String,
        /// What is wrong with it.
        cause: String,
    },
    /// A zip package of something else.
    #[error(
        "{file}: not an STL, OBJ, PLY or 3MF file, but a zip package without a 3D model (there is no \"{part}\" in it); unpack it if the mesh lies inside, or export the mesh as 3MF or binary STL"
    )]
    NoModel {
        /// The file.
        file: String,
        /// The part that was looked for.
        part: String,
    },
    /// A part of a package that cannot be unpacked.
    #[error("{file}: {part}: {problem}; {mend}")]
    Packing {
        /// The file.
        file: String,
        /// The part of the package.
        part: String,
        /// What is wrong.
        problem: String,
        /// What to do.
        mend: String,
    },
    /// A package that unpacks to more than
    /// [`MAX_UNPACKED_BYTES`](super::MAX_UNPACKED_BYTES).
    #[error(
        "{file}: {part}: unpacks to more than the limit of {limit} bytes; reduce the number of triangles in the scan program and export again"
    )]
    UnpacksTooLarge {
        /// The file.
        file: String,
        /// The part of the package.
        part: String,
        /// The most that is unpacked.
        limit: u64,
    },
    /// A part that is not the XML it should be.
    #[error("{file}: {place}: {problem}; {mend}")]
    BadModel {
        /// The file.
        file: String,
        /// The part of the package and its line.
        place: String,
        /// What is wrong.
        problem: String,
        /// What to do.
        mend: String,
    },
    /// Objects that are repeated so often that they would fill the memory.
    #[error(
        "{file}: {place}: its objects are repeated to more than {limit} triangles and vertices; keep one last in the file and export again"
    )]
    TooManyCopies {
        /// The file.
        file: String,
        /// The part of the package and its line.
        place: String,
        /// The most that is taken.
        limit: u64,
    },
    /// A well-formed file without a surface.
    #[error(
        "{file}: no triangles, {vertices} points; if it is a cloud of points, let the scan program make a surface of it, then export again"
    )]
    NoTriangles {
        /// The file.
        file: String,
        /// Points found.
        vertices: usize,
    },
}
