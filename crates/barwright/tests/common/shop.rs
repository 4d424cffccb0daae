//! An invented workshop on the command line.
use super::run;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// A workshop in a folder of its own.
pub struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    pub fn new() -> Self {
        let shop = Self { folder: tempfile::tempdir().unwrap() };
        shop.says(&["workshop", "new", "--name", "Invented shop"]);
        shop
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn run(&self, args: &[&str]) -> (i32, String, String) {
        let home = self.path("shop");
        run(&[&["--workshop", home.to_str().unwrap()], args].concat())
    }

    pub fn says(&self, args: &[&str]) -> String {
        let (status, stdout, stderr) = self.run(args);
        assert_eq!((status, stderr.as_str()), (0, ""), "{args:?}");
        stdout
    }

    pub fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.says(&[args, &["--json"]].concat())).unwrap()
    }

    pub fn refuses(&self, args: &[&str]) -> String {
        let (status, stdout, stderr) = self.run(&[args, &["--json"]].concat());
        assert_eq!((status, stdout.as_str()), (1, ""), "{args:?}: {stderr}");
        let value: Value = serde_json::from_str(&stderr).unwrap();
        assert!(!value["error"]["message"].as_str().unwrap().is_empty());
        value["error"]["code"].as_str().unwrap().to_owned()
    }
}

pub fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A C4 bar with its arch, as a bar file brings it.
pub fn arched_c4(path: &Path) {
    let file = r#"{"format":"barwright-bar/1","note":"C4","length_mm":350,"width_mm":55,"thickness_mm":22,"mass_g":330,
        "underside":{"x_mm":[0,80,175,270,350],"thickness_mm":[22,21,9.5,21,22],"kinks_mm":[]},
        "targets":{"ratios":[1,4,10]}}"#;
    fs::write(path, file).unwrap();
}
