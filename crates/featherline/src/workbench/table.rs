//! Scans on the table: read, looked at, and not yet part of a job.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use geometry::mesh::TriMesh;
use geometry::units::Unit;

/// More scans than this are not kept; the oldest goes first.
const MOST: usize = 4;

/// A scan as it was handed over.
#[derive(Debug)]
pub(super) struct Scan {
    pub(super) id: String,
    /// The name of its file, which tells the format.
    pub(super) file: String,
    pub(super) bytes: Vec<u8>,
    pub(super) mesh: TriMesh,
    /// The unit that the file states.
    pub(super) unit: Option<Unit>,
}

/// The table.
#[derive(Debug, Default)]
pub(super) struct Table {
    scans: Mutex<(u64, VecDeque<Arc<Scan>>)>,
}

impl Table {
    /// Puts a scan on the table and returns it with its number.
    pub(super) fn put(
        &self,
        file: String,
        bytes: Vec<u8>,
        mesh: TriMesh,
        unit: Option<Unit>,
    ) -> Arc<Scan> {
        let mut table = self.scans.lock().unwrap_or_else(PoisonError::into_inner);
        let (count, scans) = &mut *table;
        *count += 1;
        let scan = Arc::new(Scan { id: count.to_string(), file, bytes, mesh, unit });
        scans.push_back(scan.clone());
        if scans.len() > MOST {
            scans.pop_front();
        }
        scan
    }

    /// The scan of a number, if it still lies there.
    pub(super) fn get(&self, id: &str) -> Option<Arc<Scan>> {
        let table = self.scans.lock().unwrap_or_else(PoisonError::into_inner);
        table.1.iter().find(|scan| scan.id == id).cloned()
    }
}
