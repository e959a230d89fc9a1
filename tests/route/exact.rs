//! Plans of small problems against the best there is, found by trying everything.

use crate::checker::check;
use crate::oracle::best;
use crate::support::{Dice, plan, problem};

const PROBLEMS: u64 = 60;

#[test]
fn small_problems_are_solved_to_the_best_there_is() {
    let (mut out, mut late, mut breaks) = (0, 0, 0);
    for number in 0..PROBLEMS {
        let mut dice = Dice::new(number + 1);
        let (stops, days) = (2 + (number % 5) as usize, 1 + (number % 3) as usize);
        let asked = problem(&mut dice, stops, days, 1500);
        let answer = plan(&asked);
        let found = check(&asked, &answer).unwrap_or_else(|broken| panic!("{broken}\n{asked}\n{answer}"));
        assert_eq!(found, best(&asked), "{asked}\n{answer}");
        out += usize::from(found.unserved > 0);
        late += usize::from(found.late > 0);
        breaks += usize::from(answer.to_string().contains("breaks"));
    }
    // The problems are worth asking.
    assert!(
        out > 5 && late > 5 && breaks > 5,
        "{out} with stops left out, {late} late, {breaks} with breaks"
    );
}
