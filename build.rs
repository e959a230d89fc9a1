//! Migrations are part of the program: a new file must reach it.

fn main() {
    println!("cargo:rerun-if-changed=migrations");
}
