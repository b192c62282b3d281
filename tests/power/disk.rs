//! A disk that loses power: what was synced is there; of the rest each write is there, lost, or
//! torn at 512 bytes, in whatever order; names come and go in order, but perhaps late.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::chance::Chance;
use crate::trace::Call;

/// What a disk writes at once. Source: SQLite's "powersafe overwrite" assumption
/// (sqlite.org/psow.html) and the sector of ATA and SCSI disks.
const SECTOR: usize = 512;

#[derive(Debug, Clone)]
enum Change {
    Write(usize, Vec<u8>),
    Truncate(usize),
}

#[derive(Debug, Clone, Default)]
struct File {
    synced: Vec<u8>,
    waiting: Vec<Change>,
}

/// A sync under way: of which file up to which change, or of the names up to which.
#[derive(Debug, Clone, Copy)]
enum Syncing {
    File(usize, usize),
    Names(usize),
}

#[derive(Debug, Clone)]
enum Naming {
    Create(PathBuf, usize),
    Rename(PathBuf, PathBuf),
    Remove(PathBuf),
}

type Names = BTreeMap<PathBuf, usize>;

/// The part of a disk below one folder.
#[derive(Debug, Clone, Default)]
pub struct Disk {
    files: Vec<File>,
    now: Names,
    synced: Names,
    waiting: Vec<Naming>,
    syncing: BTreeMap<usize, Syncing>,
}

fn apply(bytes: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Truncate(to) => bytes.resize(*to, 0),
        Change::Write(at, data) => {
            let end = at + data.len();
            if bytes.len() < end {
                bytes.resize(end, 0);
            }
            bytes[*at..end].copy_from_slice(data);
        }
    }
}

fn name(names: &mut Names, naming: &Naming) {
    match naming {
        Naming::Create(path, file) => drop(names.insert(path.clone(), *file)),
        Naming::Remove(path) => drop(names.remove(path)),
        Naming::Rename(from, to) => {
            if let Some(file) = names.remove(from) {
                names.insert(to.clone(), file);
            }
        }
    }
}

impl Disk {
    /// The disk with these files on it, synced.
    pub fn holding(folder: &Path) -> Self {
        let mut disk = Self::default();
        disk.take(folder);
        disk
    }

    fn take(&mut self, folder: &Path) {
        for found in std::fs::read_dir(folder).unwrap() {
            let path = found.unwrap().path();
            if path.is_dir() {
                self.take(&path);
            } else {
                let synced = std::fs::read(&path).unwrap();
                self.files.push(File {
                    synced,
                    waiting: Vec::new(),
                });
                self.now.insert(path.clone(), self.files.len() - 1);
                self.synced.insert(path, self.files.len() - 1);
            }
        }
    }

    /// Does what a run asked.
    pub fn does(&mut self, call: &Call) {
        match call {
            Call::Create(path) => {
                if !self.now.contains_key(path) {
                    self.files.push(File::default());
                    self.named(Naming::Create(path.clone(), self.files.len() - 1));
                }
            }
            Call::Write(path, at, data) => {
                self.changed(path, Change::Write(*at, data.clone()));
            }
            Call::Truncate(path, to) => self.changed(path, Change::Truncate(*to)),
            Call::Rename(from, to) => self.named(Naming::Rename(from.clone(), to.clone())),
            Call::Remove(path) => self.named(Naming::Remove(path.clone())),
            Call::SyncBegins(nth, path) => {
                let syncing = match self.now.get(path) {
                    Some(file) => Syncing::File(*file, self.files[*file].waiting.len()),
                    None => Syncing::Names(self.waiting.len()),
                };
                self.syncing.insert(*nth, syncing);
            }
            Call::SyncEnds(nth) => self.synced(*nth),
            Call::Said(_) => {}
        }
    }

    fn changed(&mut self, path: &Path, change: Change) {
        // Standard error, and what else is no file of this folder, is not looked for here.
        if let Some(file) = self.now.get(path) {
            self.files[*file].waiting.push(change);
        }
    }

    fn named(&mut self, naming: Naming) {
        name(&mut self.now, &naming);
        self.waiting.push(naming);
    }

    fn synced(&mut self, nth: usize) {
        match self.syncing.remove(&nth) {
            Some(Syncing::File(file, upto)) => {
                let file = &mut self.files[file];
                for change in file.waiting.drain(..upto.min(file.waiting.len())) {
                    apply(&mut file.synced, &change);
                }
            }
            Some(Syncing::Names(upto)) => {
                for naming in self.waiting.drain(..upto.min(self.waiting.len())) {
                    name(&mut self.synced, &naming);
                }
            }
            None => {}
        }
    }

    /// Writes a disk that could be found after the power failed now.
    pub fn fails(&self, chance: &mut Chance, from: &Path, to: &Path) {
        let mut names = self.synced.clone();
        for naming in &self.waiting[..chance.below(self.waiting.len() + 1)] {
            name(&mut names, naming);
        }
        let way = chance.below(4);
        for (path, file) in &names {
            let Ok(below) = path.strip_prefix(from) else {
                continue;
            };
            // The index of the write-ahead log lives in memory.
            if path.extension().is_some_and(|end| end == "db-shm") {
                continue;
            }
            let bytes = self.files[*file].fails(chance, way);
            let path = to.join(below);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, bytes).unwrap();
        }
    }
}

/// What becomes of a write that was not synced.
#[derive(Debug, Clone, Copy)]
enum Fate {
    Lost,
    Torn,
    There,
}

impl File {
    fn fails(&self, chance: &mut Chance, way: usize) -> Vec<u8> {
        let mut bytes = self.synced.clone();
        let upto = chance.below(self.waiting.len() + 1);
        for (nth, change) in self.waiting.iter().enumerate() {
            // Nothing of it came to the medium; or the first of it, the last of that torn; or
            // each did, did not, or is torn.
            let fate = match way {
                1 if nth < upto => Fate::There,
                1 if nth == upto => Fate::Torn,
                0 | 1 => Fate::Lost,
                2 if chance.coin() => Fate::Lost,
                2 => Fate::Torn,
                _ if chance.below(4) == 0 => Fate::Torn,
                _ => Fate::There,
            };
            match (fate, change) {
                (Fate::Torn, Change::Write(at, data)) => torn(&mut bytes, *at, data, chance),
                (Fate::There, _) | (Fate::Torn, Change::Truncate(_)) => apply(&mut bytes, change),
                (Fate::Lost, _) => {}
            }
        }
        bytes
    }
}

fn torn(bytes: &mut Vec<u8>, at: usize, data: &[u8], chance: &mut Chance) {
    let mut from = 0;
    while from < data.len() {
        // Sectors lie on the disk at multiples of their size.
        let to = (from + SECTOR - (at + from) % SECTOR).min(data.len());
        if chance.coin() {
            apply(bytes, &Change::Write(at + from, data[from..to].to_vec()));
        }
        from = to;
    }
}
