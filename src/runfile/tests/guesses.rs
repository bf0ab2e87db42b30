//! `[guessed]`: a guess is one for as long as its value stands.

use super::{GOOD, refused, run};

fn guesses(text: &str) -> Vec<String> {
    run(text)
        .guesses()
        .map(|stated| stated.key.clone())
        .collect()
}

#[test]
fn a_guess_ends_when_its_value_is_changed_or_its_line_taken_away() {
    let list = "[guessed]\npart.mass = \"2.3 kg\"\nroom.temperature = \"31 degC\"\nmachine.name = \"bench-220\"\n";
    let text = format!("{GOOD}{list}");
    let all = ["machine.name", "part.mass", "room.temperature"];
    assert_eq!(guesses(&text), all);
    // The same mass in another unit is the same value.
    assert_eq!(guesses(&text.replacen("2.3 kg", "2300 g", 1)), all);
    assert_eq!(
        guesses(&text.replacen("2.3 kg", "2.4 kg", 1)),
        [all[0], all[2]]
    );
    let confirmed = text.replace("room.temperature = \"31 degC\"\n", "");
    assert_eq!(guesses(&confirmed), all[..2]);
    assert_eq!(
        guesses(&text.replacen("mass = \"2.3 kg\"\n", "mass = \"2 kg\"\n", 1)).len(),
        2
    );
    assert_eq!(guesses(GOOD), [""; 0]);
    // It changes nothing else.
    assert_eq!(run(&text).run, run(GOOD).run);
}

#[test]
fn what_can_be_no_guess_is_refused() {
    let guessed = |line: &str| format!("{GOOD}[guessed]\n{line}\n");
    refused(
        &guessed("part.mas = \"2.3 kg\""),
        (16, 6),
        &["`mas` is not a key of [part]", "`mass`"],
    );
    refused(&guessed("part.mass = 2.3"), (16, 13), &["has no unit"]);
    refused(
        &guessed("job.pause = []"),
        (16, 13),
        &["not a single value", "take this line away"],
    );
    refused(&guessed("compare = 1"), (16, 11), &["not a single value"]);
    // What is odd is told where it counts, and there only.
    let odd = GOOD.replace("31 degC", "59 degC") + "[guessed]\nroom.temperature = \"59 degC\"\n";
    assert_eq!(run(&odd).warnings.len(), 1);
}
