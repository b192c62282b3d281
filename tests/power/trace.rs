//! What a run asked of its disk, as strace recorded it.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::process::Command;

/// One thing that was asked.
#[derive(Debug, Clone)]
pub enum Call {
    Create(PathBuf),
    Write(PathBuf, usize, Vec<u8>),
    Truncate(PathBuf, usize),
    /// Begun; what was written before is on the medium once the same number ends.
    SyncBegins(usize, PathBuf),
    SyncEnds(usize),
    Rename(PathBuf, PathBuf),
    Remove(PathBuf),
    /// What the run told on its standard output.
    Said(String),
}

pub const CALLS: &str = "openat,pwrite64,write,ftruncate,fallocate,fsync,fdatasync,rename,\
     renameat,renameat2,unlink,unlinkat,link,linkat,copy_file_range,sendfile";

/// Runs a command of `child::command` that was made with [`under`], and reads its record.
pub fn record(mut command: Command, file: &Path) -> Vec<Call> {
    let done = command.output().unwrap();
    assert!(
        done.status.success(),
        "{} {}",
        String::from_utf8_lossy(&done.stdout),
        String::from_utf8_lossy(&done.stderr)
    );
    read(&std::fs::read_to_string(file).unwrap())
}

/// The strace that a command is run under.
pub fn under(file: &Path) -> Vec<String> {
    let told = ["strace", "-f", "-y", "-xx", "-s", "1000000", "-e"].map(str::to_owned);
    let mut told = told.to_vec();
    told.push(format!("trace={CALLS}"));
    told.push("-o".to_owned());
    told.push(file.display().to_string());
    told
}

fn bytes(hex: &str) -> Vec<u8> {
    hex.split("\\x")
        .skip(1)
        .map(|digits| u8::from_str_radix(&digits[..2], 16).unwrap())
        .collect()
}

/// A path as it stands between quotes or angles, in hexadecimal digits or as it is.
fn path(text: &str) -> PathBuf {
    if text.starts_with("\\x") {
        PathBuf::from(String::from_utf8(bytes(text)).unwrap())
    } else {
        PathBuf::from(text)
    }
}

fn between(text: &str, start: char, end: char) -> Option<&str> {
    let from = text.find(start)? + 1;
    let to = text[from..].find(end)? + from;
    Some(&text[from..to])
}

fn read(text: &str) -> Vec<Call> {
    let mut begun: HashMap<&str, (String, usize)> = HashMap::new();
    let mut calls = Vec::new();
    let mut syncs = 0;
    for line in text.lines() {
        let (thread, rest) = line.split_once(' ').unwrap();
        let rest = rest.trim_start();
        if rest.starts_with("+++") || rest.starts_with("---") {
            continue;
        }
        let whole;
        let mut sync = None;
        if let Some(start) = rest.strip_suffix(" <unfinished ...>") {
            if start.starts_with("fsync(") || start.starts_with("fdatasync(") {
                syncs += 1;
                calls.push(Call::SyncBegins(
                    syncs,
                    path(between(start, '<', '>').unwrap()),
                ));
            }
            // Whoever reads may have it before the call has ended.
            said(start, &mut calls);
            begun.insert(thread, (start.to_owned(), syncs));
            continue;
        } else if rest.starts_with("<... ") {
            let (start, nth) = begun.remove(thread).unwrap();
            let end = rest.split_once(" resumed>").unwrap().1;
            if start.starts_with("write(1<") {
                continue;
            }
            sync = Some(nth);
            whole = start + end;
        } else {
            said(rest, &mut calls);
            whole = rest.to_owned();
        }
        one(&whole, sync, &mut syncs, &mut calls);
    }
    calls
}

fn said(call: &str, calls: &mut Vec<Call>) {
    if call.starts_with("write(1<")
        && let Some(hex) = between(call, '"', '"')
    {
        calls.push(Call::Said(String::from_utf8(bytes(hex)).unwrap()));
    }
}

fn one(call: &str, sync: Option<usize>, syncs: &mut usize, calls: &mut Vec<Call>) {
    let (name, rest) = call.split_once('(').unwrap();
    let (arguments, result) = rest.rsplit_once(" = ").unwrap();
    if result.starts_with('-') || result.starts_with('?') {
        return;
    }
    let of = || path(between(arguments, '<', '>').unwrap());
    let number = |text: &str| -> usize { text.trim().trim_end_matches(')').parse().unwrap() };
    let quoted = || -> Vec<PathBuf> { arguments.split('"').skip(1).step_by(2).map(path).collect() };
    match name {
        "openat" if arguments.contains("O_CREAT") => {
            let opened = path(between(result, '<', '>').unwrap());
            calls.push(Call::Create(opened.clone()));
            if arguments.contains("O_TRUNC") {
                calls.push(Call::Truncate(opened, 0));
            }
        }
        "pwrite64" => {
            let data = bytes(between(arguments, '"', '"').unwrap());
            let at = number(arguments.rsplit(',').next().unwrap());
            let wrote = number(result);
            calls.push(Call::Write(of(), at, data[..wrote].to_vec()));
        }
        "ftruncate" => {
            let to = number(arguments.rsplit(',').next().unwrap());
            calls.push(Call::Truncate(of(), to));
        }
        "fsync" | "fdatasync" => {
            let nth = sync.unwrap_or_else(|| {
                *syncs += 1;
                calls.push(Call::SyncBegins(*syncs, of()));
                *syncs
            });
            calls.push(Call::SyncEnds(nth));
        }
        "rename" | "renameat" | "renameat2" => {
            let [from, to] = <[PathBuf; 2]>::try_from(quoted()).unwrap();
            calls.push(Call::Rename(from, to));
        }
        "unlink" => calls.push(Call::Remove(quoted().remove(0))),
        "unlinkat" => {
            let (folder, name) = (of(), quoted().remove(0));
            calls.push(Call::Remove(folder.join(name)));
        }
        _ => {}
    }
}
