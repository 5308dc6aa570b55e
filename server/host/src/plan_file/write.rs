//! Writing a plan down.

use std::fmt::Write as _;

use myonym_wire::Task;
use toml::Value;

use super::TASKS;

/// A round as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    /// Name of the muscle.
    pub(crate) muscle: String,
    /// What it asks for.
    pub(crate) task: Task,
    /// Name of the other one offered.
    pub(crate) beside: Option<String>,
    /// Why.
    pub(crate) why: String,
}

/// A plan as text that can be read again.
pub(crate) fn write(list: &str, seed: u64, rounds: &[Row]) -> String {
    let mut text = "# A planned review: change what you like. `myonym host --plan` holds it.\n\
                    # task = \"name\" (if left out), \"picture\", \"movement\" or \"contrast\"; \
                    limit = \"45s\" may stand here.\n"
        .to_owned();
    line(&mut text, "list", list);
    let _ = writeln!(text, "seed = {seed}");
    for Row { muscle, task, beside, why } in rounds {
        text.push_str("\n[[round]]\n");
        line(&mut text, "muscle", muscle);
        if let Some((word, _)) = TASKS.iter().find(|(_, known)| known == task)
            && *task != Task::Name
        {
            line(&mut text, "task", word);
        }
        if let Some(beside) = beside {
            line(&mut text, "beside", beside);
        }
        if !why.is_empty() {
            line(&mut text, "why", why);
        }
    }
    text
}

fn line(text: &mut String, field: &str, value: &str) {
    let _ = writeln!(text, "{field} = {}", Value::from(value));
}
