//! What disks, and people, do to an index's files. sled mostly panics or opens empty; neither
//! may be seen, and a wrong row may never be served.

use std::path::{Path, PathBuf};

use handfast::ward::index::IndexNote;

use crate::folder::{Folder, copy_all, files_below};
use crate::material::{Random, story};

/// One index, kept once, damaged again and again.
struct Patient {
    folder: Folder,
    sound: tempfile::TempDir,
}

impl Patient {
    fn new(seed: u64) -> Patient {
        let folder = Folder::of(1, &story(seed, 150).entries);
        folder.keep();
        let sound = tempfile::tempdir().unwrap();
        copy_all(&folder.path().join("index"), sound.path());
        Patient { folder, sound }
    }

    /// Puts the sound index back, damages it, and looks at what comes of it.
    fn after(&self, damage: impl FnOnce(&Path)) -> Option<IndexNote> {
        let index = self.folder.path().join("index");
        let _ = std::fs::remove_dir_all(&index);
        copy_all(self.sound.path(), &index);
        damage(&self.folder.index_path());
        let (mut drawn, note) = once_let_go(|| self.folder.draw());
        if note.is_some() {
            let ((), again) = once_let_go(|| {
                let kept = drawn.keep(&self.folder.index(), &self.folder.reader());
                ((), kept)
            });
            assert_eq!(again, None, "after {note:?}");
            let (_, settled) = once_let_go(|| self.folder.draw());
            assert_eq!(settled, None, "after {note:?}");
        }
        note
    }
}

/// sled lets go of its lock a moment after it is closed, on a busy machine a long one: "in
/// use" is then a true answer, and not the one asked for here.
fn once_let_go<T>(mut ask: impl FnMut() -> (T, Option<IndexNote>)) -> (T, Option<IndexNote>) {
    for _ in 0..200 {
        let (answer, note) = ask();
        if note != Some(IndexNote::InUse) {
            return (answer, note);
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    panic!("the lock was never let go");
}

fn pick(random: &mut Random, dir: &Path) -> (PathBuf, Vec<u8>) {
    let files: Vec<PathBuf> = files_below(dir)
        .into_iter()
        .filter(|file| std::fs::metadata(file).unwrap().len() > 0)
        .collect();
    let file = files[random.below(files.len())].clone();
    let bytes = std::fs::read(&file).unwrap();
    (file, bytes)
}

/// Half the files of a damaged index are as good as whole: nothing reads them, or the damage
/// lies in bytes that no longer count. What matters is that the ward is right every time.
#[test]
fn flipped_bytes_never_give_a_wrong_ward() {
    let patient = Patient::new(21);
    let mut noticed = 0;
    for trial in 0..60 {
        let mut random = Random(trial);
        let note = patient.after(|dir| {
            let (file, mut bytes) = pick(&mut random, dir);
            let span = if trial % 2 == 0 { 1 } else { 64 };
            // Bytes that are all zero were never written.
            let written: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at] != 0).collect();
            let at = written[random.below(written.len())];
            for byte in bytes.iter_mut().skip(at).take(span) {
                *byte ^= 1 << random.below(8);
            }
            std::fs::write(file, bytes).unwrap();
        });
        noticed += u32::from(note.is_some());
    }
    assert!(noticed > 10, "only {noticed} of 60 trials hit anything");
}

#[test]
fn blocks_of_zeros_never_give_a_wrong_ward() {
    let patient = Patient::new(22);
    for trial in 0..20 {
        let mut random = Random(1_000 + trial);
        patient.after(|dir| {
            let (file, mut bytes) = pick(&mut random, dir);
            let from = random.below(bytes.len()) & !4_095;
            let until = bytes.len().min(from + 4_096);
            bytes[from..until].fill(0);
            std::fs::write(file, bytes).unwrap();
        });
    }
}

#[test]
fn cut_files_never_give_a_wrong_ward() {
    let patient = Patient::new(23);
    for trial in 0..30 {
        let mut random = Random(2_000 + trial);
        patient.after(|dir| {
            let (file, mut bytes) = pick(&mut random, dir);
            bytes.truncate(random.below(bytes.len()));
            std::fs::write(file, bytes).unwrap();
        });
    }
}

#[test]
fn each_missing_file_is_survived() {
    let patient = Patient::new(24);
    let files = files_below(&patient.folder.index_path()).len();
    for which in 0..files {
        patient.after(|dir| std::fs::remove_file(&files_below(dir)[which]).unwrap());
    }
}

#[test]
fn an_empty_folder_and_a_file_in_its_place_are_put_aside() {
    let patient = Patient::new(25);
    let empty = patient.after(|dir| {
        std::fs::remove_dir_all(dir).unwrap();
        std::fs::create_dir(dir).unwrap();
    });
    let why = "it does not say where it stands".to_owned();
    assert_eq!(empty, Some(IndexNote::Damaged { why }));
    let file = patient.after(|dir| {
        std::fs::remove_dir_all(dir).unwrap();
        std::fs::write(dir, b"not a folder").unwrap();
    });
    assert!(matches!(file, Some(IndexNote::Damaged { .. })), "{file:?}");
}

/// sled refuses to open beside one of these for ever after.
#[test]
fn a_snapshot_left_half_made_is_put_aside() {
    let patient = Patient::new(26);
    let note = patient.after(|dir| {
        std::fs::write(dir.join("snap.FFFFFFFFFFFFFFFF.generating"), b"half").unwrap();
    });
    assert!(matches!(note, Some(IndexNote::Damaged { .. })), "{note:?}");
}

/// Rows that sled finds whole, and that are not the ones that were written together.
#[test]
fn a_row_changed_taken_away_or_added_is_noticed() {
    let patient = Patient::new(27);
    let with_sled = |change: &dyn Fn(&sled::Db)| {
        patient.after(|dir| {
            let db = sled::open(dir).unwrap();
            change(&db);
            db.flush().unwrap();
        })
    };
    let key_of = |db: &sled::Db, n: usize| db.iter().nth(n).unwrap().unwrap().0;
    let damaged = |note: Option<IndexNote>| matches!(note, Some(IndexNote::Damaged { .. }));
    for n in 0..5 {
        assert!(damaged(with_sled(&|db| {
            let key = key_of(db, n);
            let mut value = db.get(&key).unwrap().unwrap().to_vec();
            let last = value.len() - 1;
            value[last] ^= 1;
            db.insert(key, value).unwrap();
        })));
        assert!(damaged(with_sled(&|db| {
            db.remove(key_of(db, n)).unwrap();
        })));
    }
    assert!(damaged(with_sled(&|db| {
        let (_, value) = db.iter().next().unwrap().unwrap();
        db.insert(b"p0123456789abcdef", value).unwrap();
    })));
}

/// A patient's row as it was a while ago is a whole row, and must not be taken for today's.
#[test]
fn an_old_row_in_a_new_index_is_noticed() {
    let story = story(28, 300);
    let folder = Folder::of(1, &story.entries[..150]);
    folder.keep();
    let rows = |folder: &Folder| -> Vec<(sled::IVec, sled::IVec)> {
        let db = sled::open(folder.index_path()).unwrap();
        db.iter().map(Result::unwrap).collect()
    };
    let old = rows(&folder);
    folder.append(&story.entries[150..]);
    let (mut drawn, _) = folder.draw();
    assert_eq!(drawn.keep(&folder.index(), &folder.reader()), None);
    let (key, value) = old.iter().find(|(key, _)| key[0] == b'p').unwrap();
    let db = sled::open(folder.index_path()).unwrap();
    assert_ne!(
        db.get(key).unwrap().unwrap(),
        value,
        "that patient has news"
    );
    db.insert(key, value).unwrap();
    drop(db);
    let (_, note) = folder.draw();
    assert!(matches!(note, Some(IndexNote::Damaged { .. })), "{note:?}");
}

/// Needs root and a mount; says so where that is not possible.
#[test]
fn in_a_read_only_file_system_the_ward_is_folded_and_nothing_is_put_aside() {
    let folder = Folder::of(1, &story(30, 60).entries);
    folder.keep();
    let kept = folder.index_path();
    let Some(_mounted) = ReadOnly::bind(&folder.path()) else {
        eprintln!("SKIPPED: this machine does not let the test mount a file system");
        return;
    };
    std::fs::write(folder.path().join("probe"), b"").unwrap_err();
    let (_, note) = folder.draw();
    assert!(matches!(note, Some(IndexNote::NotKept { .. })), "{note:?}");
    let mut drawn = handfast::ward::draw::Drawn::from_journal(&folder.reader());
    let kept_now = drawn.keep(&folder.index(), &folder.reader());
    assert!(
        matches!(kept_now, Some(IndexNote::NotKept { .. })),
        "{kept_now:?}"
    );
    assert_eq!(folder.index_path(), kept);
}

/// A folder bound over itself for reading only, for as long as this lives.
struct ReadOnly(PathBuf);

impl ReadOnly {
    fn bind(dir: &Path) -> Option<ReadOnly> {
        let path = dir.to_str().unwrap();
        let bound = mount(&["--bind", path, path]).then(|| ReadOnly(dir.to_owned()))?;
        mount(&["-o", "remount,bind,ro", path]).then_some(bound)
    }
}

impl Drop for ReadOnly {
    fn drop(&mut self) {
        let _ = std::process::Command::new("umount")
            .arg("-l")
            .arg(&self.0)
            .output();
    }
}

fn mount(args: &[&str]) -> bool {
    let output = std::process::Command::new("mount").args(args).output();
    output.is_ok_and(|output| output.status.success())
}

#[test]
fn where_the_index_cannot_be_written_the_ward_is_folded_each_time() {
    let folder = Folder::of(1, &story(29, 40).entries);
    std::fs::write(
        folder.path().join("index"),
        b"a file where the folder should be",
    )
    .unwrap();
    let (mut drawn, note) = folder.draw();
    assert_eq!(note, Some(IndexNote::Missing));
    let kept = drawn.keep(&folder.index(), &folder.reader());
    assert!(matches!(kept, Some(IndexNote::NotKept { .. })), "{kept:?}");
    folder.draw();
}

/// A program killed while it draws and writes the index: whatever it left, the ward is right.
#[test]
fn killing_the_program_while_it_writes_the_index_never_gives_a_wrong_ward() {
    let folder = Folder::of(1, &story(28, 1_300).entries);
    for wait in 0..25 {
        let _ = std::fs::remove_dir_all(folder.path().join("index"));
        let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_handfast"))
            .arg("--journal")
            .arg(folder.path())
            .arg("tasks")
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait * 8));
        child.kill().unwrap();
        child.wait().unwrap();
        once_let_go(|| folder.draw());
    }
}
