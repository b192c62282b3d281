//! Every file of the corpus that fuzzing began with or found, through every reader it was made
//! for: see DEVELOPERS.md, "Fuzzing".

#[path = "../../../fuzz/targets.rs"]
mod targets;

use std::path::Path;

#[test]
fn every_file_of_the_corpus_is_taken_or_refused_as_it_should() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus");
    let mut files = 0;
    for (name, target) in targets::TARGETS {
        let mut of_target = 0;
        for file in std::fs::read_dir(corpus.join(name)).unwrap() {
            let file = file.unwrap().path();
            // Told before it is tried: a panic names its file.
            println!("{}", file.display());
            target(&std::fs::read(&file).unwrap());
            of_target += 1;
        }
        assert!(of_target >= 3, "{name} has {of_target} files");
        files += of_target;
    }
    let folders = std::fs::read_dir(&corpus).unwrap().count();
    assert_eq!(folders, targets::TARGETS.len(), "each folder has a target");
    assert!(files > 100, "{files} files");
}
