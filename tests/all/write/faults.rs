//! What can go wrong while writing, and what is left then.

use super::*;
use std::fs;
use wellread::write::Former;

#[test]
fn err_the_second_run_is_told_who_holds_the_dataset() {
    let dir = tempfile::tempdir().unwrap();
    let first = Dataset::open(dir.path(), Wait::No).unwrap();
    let error = Dataset::open(dir.path(), Wait::No).unwrap_err();
    let expected = format!(
        "{}: another run is writing to it (process {})",
        dir.path().display(),
        std::process::id()
    );
    assert_eq!(error.to_string(), expected);
    drop(first);
    Dataset::open(dir.path(), Wait::No).unwrap();
    assert_eq!(files(dir.path()).len(), 0);
}

#[test]
fn the_second_run_waits_where_it_should() {
    let dir = tempfile::tempdir().unwrap();
    let first = Dataset::open(dir.path(), Wait::No).unwrap();
    std::thread::scope(|scope| {
        let second = scope.spawn(|| write_waiting(dir.path()));
        std::thread::sleep(std::time::Duration::from_millis(50));
        assert!(!second.is_finished());
        drop(first);
        second.join().unwrap();
    });
    assert_eq!(files(dir.path()).len(), 11);
}

fn write_waiting(dir: &Path) {
    let dataset = Dataset::open(dir, Wait::Yes).unwrap();
    let sink = dataset
        .begin(options(true), Vocabulary::built_in())
        .unwrap();
    finish(sink, &[], Vec::new()).unwrap().commit().unwrap();
}

#[test]
fn err_files_of_others_are_not_overwritten() {
    for name in ["results.csv", "datapackage.json"] {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join(name), "{}").unwrap();
        let error = Dataset::open(dir.path(), Wait::No).unwrap_err();
        let expected = format!(
            "{}: stands where the dataset would, and is not one of ours; choose another folder",
            dir.path().join(name).display()
        );
        assert_eq!(error.to_string(), expected);
        assert_eq!(files(dir.path()).len(), 1);
    }
}

#[test]
fn a_users_own_files_stay() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("notebook.txt"), "mine").unwrap();
    write(dir.path(), &[report("a.csv")], true).unwrap();
    write(dir.path(), &[report("b.csv")], false).unwrap();
    assert_eq!(files(dir.path())["notebook.txt"], b"mine");
}

#[test]
fn a_run_that_does_not_commit_leaves_nothing() {
    let parent = tempfile::tempdir().unwrap();
    let dir = parent.path().join("water");
    let dataset = Dataset::open(&dir, Wait::No).unwrap();
    let mut sink = dataset
        .begin(options(true), Vocabulary::built_in())
        .unwrap();
    sink.push(&report("a.csv")).unwrap();
    drop(sink);
    drop(dataset);
    assert!(!dir.exists());
}

/// Two generations that differ in every table, the second without CSV twins.
fn generations() -> [(Vec<Extract>, bool); 2] {
    [
        (vec![report("a.csv"), report("b.csv")], true),
        (
            vec![report("b.csv"), report("c.csv"), report("d.csv")],
            false,
        ),
    ]
}

fn written(of: &(Vec<Extract>, bool)) -> BTreeMap<String, Vec<u8>> {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), &of.0, of.1).unwrap();
    files(dir.path())
}

/// Lays files out.
fn lay<'a>(dir: &Path, files: impl Iterator<Item = (&'a String, &'a Vec<u8>)>) {
    fs::create_dir_all(dir).unwrap();
    for (name, bytes) in files {
        fs::write(dir.join(name), bytes).unwrap();
    }
}

/// The files by name.
type Generation = BTreeMap<String, Vec<u8>>;

/// The files that the new generation has not.
fn gone<'a>(old: &'a Generation, new: &Generation) -> Vec<&'a String> {
    old.keys().filter(|name| !new.contains_key(*name)).collect()
}

fn journal(old: &Generation, new: &Generation) -> String {
    let put: Vec<&String> = new.keys().collect();
    format!("{{\"put\":{put:?},\"remove\":{:?}}}", gone(old, new))
}

#[test]
fn a_switch_that_a_crash_broke_off_is_finished() {
    let [old, new] = generations().map(|generation| written(&generation));
    let gone = gone(&old, &new);
    let journal = journal(&old, &new);
    for done in 0..=new.len() + gone.len() {
        let dir = tempfile::tempdir().unwrap();
        let hidden = dir.path().join(".wellread");
        lay(dir.path(), old.iter());
        lay(dir.path(), new.iter().take(done));
        lay(&hidden.join("next"), new.iter().skip(done));
        for name in gone.iter().take(done.saturating_sub(new.len())) {
            fs::remove_file(dir.path().join(name)).unwrap();
        }
        fs::write(hidden.join("switch"), &journal).unwrap();
        // Whoever only reads finds the new generation already.
        let former = Former::open(dir.path(), words()).unwrap().unwrap();
        let reports: Vec<&str> = former.reports().iter().map(|r| &*r.file).collect();
        assert_eq!(reports, ["b.csv", "c.csv", "d.csv"], "{done}");
        drop(Dataset::open(dir.path(), Wait::No).unwrap());
        assert_eq!(files(dir.path()), new, "{done}");
    }
}

#[test]
fn err_a_switch_that_cannot_be_finished_waits_for_the_next_run() {
    let [old, new] = generations().map(|generation| written(&generation));
    let dir = tempfile::tempdir().unwrap();
    let hidden = dir.path().join(".wellread");
    lay(dir.path(), old.iter());
    lay(&hidden.join("next"), new.iter());
    fs::write(hidden.join("switch"), journal(&old, &new)).unwrap();
    // Nothing replaces a folder, and there is no room for it elsewhere.
    let held = dir.path().join("samples.parquet");
    let room = hidden.join("former");
    fs::remove_file(&held).unwrap();
    fs::create_dir(&held).unwrap();
    fs::write(&room, "").unwrap();
    let expected = format!(
        "{}: cannot be replaced (close what has it open and run again, which finishes this)",
        held.display()
    );
    for _ in 0..2 {
        let error = Dataset::open(dir.path(), Wait::No).unwrap_err().to_string();
        assert!(error.starts_with(&expected), "{error}");
    }
    fs::remove_dir(&held).unwrap();
    fs::remove_file(&room).unwrap();
    drop(Dataset::open(dir.path(), Wait::No).unwrap());
    assert_eq!(files(dir.path()), new);
}

#[test]
fn what_a_crash_left_before_the_switch_is_cleared() {
    let [old, new] = generations().map(|generation| written(&generation));
    for staged in 0..=new.len() {
        let dir = tempfile::tempdir().unwrap();
        let hidden = dir.path().join(".wellread");
        lay(dir.path(), old.iter());
        lay(&hidden.join("next"), new.iter().take(staged));
        lay(&hidden.join("former"), old.iter().take(staged));
        fs::write(hidden.join("lock"), "4000000").unwrap();
        fs::write(hidden.join("switch.draft"), "{\"put\":[\"resu").unwrap();
        drop(Dataset::open(dir.path(), Wait::No).unwrap());
        assert_eq!(files(dir.path()), old, "{staged}");
    }
}

#[test]
fn err_a_journal_that_leads_out_of_the_dataset_is_refused() {
    for name in ["../up.csv", ".wellread", "sub/results.csv", "/etc/x", ""] {
        let dir = tempfile::tempdir().unwrap();
        let hidden = dir.path().join(".wellread");
        fs::create_dir_all(&hidden).unwrap();
        let journal = format!("{{\"put\":[{name:?}],\"remove\":[]}}");
        fs::write(hidden.join("switch"), journal).unwrap();
        let error = Dataset::open(dir.path(), Wait::No).unwrap_err();
        let expected = format!(
            "{}: names a file outside the dataset: '{name}'",
            hidden.join("switch").display()
        );
        assert_eq!(error.to_string(), expected);
    }
}

#[test]
fn err_a_folder_that_cannot_be_made_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("file");
    fs::write(&file, "").unwrap();
    let error = Dataset::open(&file.join("water"), Wait::No).unwrap_err();
    let expected = format!(
        "{}: cannot be made or written",
        file.join("water").display()
    );
    assert_eq!(error.to_string(), expected);
}

#[cfg(unix)]
mod processes {
    //! Runs that are killed, or run out of space, in a process of their own.

    use super::*;
    use std::os::unix::fs::PermissionsExt;
    use std::process::{Child, Command};
    use std::time::Duration;

    const DIR: &str = "WELLREAD_TEST_DIR";

    /// This test binary again, running one of the ignored tests below in `dir`.
    fn again(test: &str, dir: &Path, before: &str) -> Child {
        Command::new("sh")
            .args(["-c", &format!("{before} exec \"$0\" \"$@\"")])
            .arg(std::env::current_exe().unwrap())
            .args([test, "--exact", "--ignored", "--quiet"])
            .env(DIR, dir)
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap()
    }

    #[test]
    #[ignore = "is started by the tests below"]
    fn child_that_writes_for_ever() {
        let Some(dir) = std::env::var_os(DIR) else {
            return;
        };
        for (reports, csv) in generations().iter().cycle() {
            write(Path::new(&dir), reports, *csv).unwrap();
        }
    }

    #[test]
    #[ignore = "is started by the tests below"]
    fn child_that_writes_once() {
        let Some(dir) = std::env::var_os(DIR) else {
            return;
        };
        let (reports, csv) = &generations()[1];
        write(Path::new(&dir), reports, *csv).unwrap();
    }

    /// Kills runs at moments spread over more than a whole generation.
    fn kill_runs(times: u64) {
        let whole = generations().map(|generation| written(&generation));
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), &generations()[0].0, true).unwrap();
        let mut found = [0, 0];
        for time in 0..times {
            let test = "write::faults::processes::child_that_writes_for_ever";
            let mut child = again(test, dir.path(), "");
            // Spread evenly, without a pattern: multiples of the golden ratio.
            let share = (time as f64 * 0.618_033_988_749_895).fract();
            std::thread::sleep(Duration::from_secs_f64(0.02 + 0.4 * share));
            child.kill().unwrap();
            child.wait().unwrap();
            if !dir.path().join(".wellread/switch").exists() {
                let mut visible = fs::read_dir(dir.path()).unwrap();
                let present = visible.by_ref().filter(|entry| {
                    let entry = entry.as_ref().unwrap();
                    entry.file_type().unwrap().is_file()
                });
                let count = present.count();
                assert!(
                    whole.iter().any(|files| files.len() == count),
                    "{count} files"
                );
            }
            drop(Dataset::open(dir.path(), Wait::No).unwrap());
            let now = files(dir.path());
            match whole.iter().position(|files| *files == now) {
                Some(generation) => found[generation] += 1,
                None => panic!("neither generation, but {:?}", now.keys()),
            }
        }
        assert!(times < 100 || found.iter().all(|&n| n > 0), "{found:?}");
    }

    #[test]
    fn a_killed_run_leaves_one_generation_or_the_other() {
        kill_runs(8);
    }

    #[test]
    #[ignore = "takes a minute or two"]
    fn two_hundred_killed_runs_leave_one_generation_or_the_other() {
        kill_runs(200);
    }

    #[test]
    fn err_a_full_disk_leaves_the_former_dataset() {
        let old = written(&generations()[0]);
        for blocks in [0, 1, 4, 16, 64] {
            let dir = tempfile::tempdir().unwrap();
            write(dir.path(), &generations()[0].0, true).unwrap();
            let test = "write::faults::processes::child_that_writes_once";
            let limit = format!("trap '' XFSZ; ulimit -f {blocks};");
            let status = again(test, dir.path(), &limit).wait().unwrap();
            assert!(!status.success(), "{blocks} blocks are not too few");
            assert_eq!(files(dir.path()), old, "{blocks}");
        }
    }

    /// A disk of one megabyte, taken off again when the test ends, however it ends.
    struct SmallDisk(tempfile::TempDir);

    impl SmallDisk {
        /// `None` where this user may not mount one.
        fn new() -> Option<Self> {
            let at = tempfile::tempdir().unwrap();
            let mounted = Command::new("mount")
                .args(["-t", "tmpfs", "-o", "size=1m", "tmpfs"])
                .arg(at.path())
                .status();
            mounted
                .is_ok_and(|status| status.success())
                .then_some(Self(at))
        }
    }

    impl Drop for SmallDisk {
        fn drop(&mut self) {
            Command::new("umount").arg(self.0.path()).status().ok();
        }
    }

    /// Takes all room of a disk but so many bytes.
    fn fill(ballast: &Path, but: u64) {
        let mut file = fs::File::create(ballast).unwrap();
        // Until nothing more goes in.
        std::io::copy(&mut std::io::repeat(7), &mut file).unwrap_err();
        let all = file.metadata().unwrap().len();
        file.set_len(all.saturating_sub(but)).unwrap();
    }

    #[test]
    #[ignore = "mounts a small disk, as the administrator only may"]
    fn err_a_disk_that_is_full_at_any_moment_leaves_the_former_dataset() {
        let Some(disk) = SmallDisk::new() else {
            println!("skipped: this user may not mount a disk");
            return;
        };
        let [old, new] = generations().map(|generation| written(&generation));
        let (dir, ballast) = (disk.0.path().join("water"), disk.0.path().join("ballast"));
        let (reports, csv) = &generations()[1];
        let (mut refused, mut done) = (0, 0);
        // Room for nothing, for the first bytes, …, for all: a page more each time.
        for room in (0..512).step_by(4).map(|kilobytes| kilobytes << 10) {
            fs::remove_dir_all(&dir).ok();
            write(&dir, &generations()[0].0, true).unwrap();
            fill(&ballast, room);
            let outcome = write(&dir, reports, *csv);
            fs::remove_file(&ballast).unwrap();
            match outcome {
                Err(_) => {
                    refused += 1;
                    assert_eq!(files(&dir), old, "with {room} bytes of room");
                }
                Ok(_) => {
                    done += 1;
                    assert_eq!(files(&dir), new, "with {room} bytes of room");
                }
            }
            // With room again the next run does its work, and nothing is left over.
            write(&dir, reports, *csv).unwrap();
            assert_eq!(files(&dir), new, "after {room} bytes of room");
            if done == 3 {
                break;
            }
        }
        assert!(refused > 5 && done == 3, "{refused} refused, {done} done");
    }

    #[test]
    fn err_a_folder_without_the_right_to_write_stays_as_it_was() {
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), &generations()[0].0, true).unwrap();
        let old = files(dir.path());
        let may = |mode| fs::set_permissions(dir.path(), fs::Permissions::from_mode(mode)).unwrap();
        may(0o555);
        let probe = dir.path().join("probe");
        if fs::write(&probe, "").is_ok() {
            // The administrator may write everywhere.
            fs::remove_file(probe).unwrap();
        } else {
            let error = Dataset::open(dir.path(), Wait::No).unwrap_err();
            let expected = format!("{}: cannot be made or written", dir.path().display());
            assert_eq!(error.to_string(), expected);
        }
        may(0o755);
        assert_eq!(files(dir.path()), old);
    }
}
