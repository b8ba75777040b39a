//! How soon after letting go there is an answer.

use super::*;

/// A coarse answer comes long before the next finer one, whatever the machine; how long it took is
/// printed (`cargo test -p tumblewood-viewer soon -- --nocapture`).
#[test]
fn prop_a_first_answer_comes_soon_after_letting_go() {
    let mut user = User::with((500, 24, 60));
    user.letter(KeyCode::Digit3, "3");
    user.wait_until("a first answer", |desk| desk.counts().is_some_and(|counts| counts.is_now));
    let boathouse = target("boathouse");
    let field = |user: &User| {
        let (desk, cut) = (user.desk(), Thing::Cut("s3".to_owned()));
        let job = desk.job.as_ref().expect("a job");
        let all = tumblewood::scene::edit::fields(&job.scene, user.document().text(), &cut);
        all.into_iter().find(|field| field.path.ends_with("release.face")).expect("a face")
    };
    for (what, change) in [
        ("a boathouse moved", Edit::Move(boathouse, DVec2::new(0.5, 0.5))),
        (
            "a face turned: every drop anew",
            Edit::Field {
                field: Box::new(field(&user)),
                typed: "240 deg".to_owned(),
                doubt: tumblewood::scene::edit::Doubt::Plain,
            },
        ),
    ] {
        let begun = Instant::now();
        user.edit(change);
        let mut took = |stage: Stage| {
            user.wait_until(what, |desk| {
                desk.counts().is_some_and(|counts| counts.is_now && counts.stage >= stage)
            });
            begun.elapsed()
        };
        let (coarse, finer) = (took(Stage::Coarse), took(Stage::Finer));
        eprintln!("{what}: coarse after {coarse:.2?}, finer after {finer:.2?}");
        assert!(2 * coarse < finer, "{what}: {coarse:?} {finer:?}");
    }
}
