//! Rebuilds when a migration, a template or a static file changes.
fn main() {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=templates");
    println!("cargo:rerun-if-changed=static");
}
