//! The form with which a student joins.

use myonym_wire::{BadLink, JoinLink, JoinWord, limits};

use crate::line::LineInput;
use crate::text;

/// What a student fills in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Form {
    /// Address, or a whole link.
    pub(crate) address: LineInput,
    /// The join word.
    pub(crate) word: LineInput,
    /// The name.
    pub(crate) name: LineInput,
    /// Whether the name may be shown in the standings.
    pub(crate) listed: bool,
    /// Whether a study group is opened, so that there is no word to type.
    pub(crate) gathers: bool,
    /// Where the keys go.
    pub(crate) focus: Field,
    /// What is wrong, and where.
    pub(crate) fault: Option<(Field, String)>,
}

/// A field of the form, from top to bottom.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Field {
    /// Address or link.
    Address,
    /// Join word.
    Word,
    /// Name.
    Name,
    /// The choice of being listed.
    Listed,
    /// The button.
    Join,
}

/// A form filled in well.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Entry {
    /// The server.
    pub(crate) link: JoinLink,
    /// The join word; none opens a study group.
    pub(crate) word: Option<JoinWord>,
    /// The name; it may be missing where a kept seat is looked for first.
    pub(crate) name: Option<String>,
    /// Whether the name may be shown in the standings.
    pub(crate) listed: bool,
}

impl Form {
    /// An empty form.
    pub(crate) fn new() -> Self {
        Self {
            address: LineInput::new("", ADDRESS_CHARS),
            word: LineInput::new("", WORD_CHARS),
            name: LineInput::new("", limits::NAME_CHARS),
            listed: false,
            gathers: false,
            focus: Field::Address,
            fault: None,
        }
    }

    /// Fills in a link: its address, and its word if it holds one.
    pub(crate) fn fill(&mut self, link: &JoinLink) {
        let scheme = if link.secure { "https://" } else { "" };
        self.address.set(&format!("{scheme}{}", link.address));
        if let Some(word) = &link.word {
            self.word.set(word.as_str());
        }
    }

    /// Reads address and word, without the name. There is no word where a study group is opened.
    pub(crate) fn place(&self) -> Result<(JoinLink, Option<JoinWord>), (Field, String)> {
        let typed = self.address.text();
        if typed.trim().is_empty() {
            return Err((Field::Address, ASK_ADDRESS.to_owned()));
        }
        let link = typed.parse::<JoinLink>().map_err(|bad| match bad {
            BadLink::Address | BadLink::Scheme => (Field::Address, bad.to_string()),
            BadLink::Word(bad) => (Field::Word, bad.to_string()),
        })?;
        if !has_possible_port(&link.address) {
            return Err((Field::Address, BadLink::Address.to_string()));
        }
        if self.gathers {
            return Ok((JoinLink { word: None, ..link }, None));
        }
        let typed = self.word.text();
        let word = match (&link.word, typed.trim().is_empty()) {
            (Some(word), true) => word.clone(),
            _ => typed
                .parse()
                .map_err(|bad: myonym_wire::BadJoinWord| (Field::Word, bad.to_string()))?,
        };
        Ok((link, Some(word)))
    }

    /// Reads the whole form.
    pub(crate) fn entry(&self) -> Result<Entry, (Field, String)> {
        let (link, word) = self.place()?;
        let name = checked_name(&self.name.text()).map_err(|bad| (Field::Name, bad))?;
        Ok(Entry { link, word, name: Some(name), listed: self.listed })
    }

    /// Reads the form as far as a kept seat needs it: the name may be missing, save where there
    /// can be none.
    pub(crate) fn entry_by_seat(&self) -> Option<Entry> {
        if self.gathers {
            return self.entry().ok();
        }
        let (link, word) = self.place().ok()?;
        let name =
            if self.name.is_empty() { None } else { Some(checked_name(&self.name.text()).ok()?) };
        Some(Entry { link, word, name, listed: self.listed })
    }

    /// Takes in pasted text: a link fills the form wherever the cursor is, even in quotes or in the
    /// midst of a command; anything else goes into the line.
    pub(crate) fn paste(&mut self, pasted: &str) {
        let pasted = pasted.lines().map(str::trim).find(|line| !line.is_empty()).unwrap_or("");
        let link = pasted.split_whitespace().find(|word| word.contains("://")).unwrap_or(pasted);
        match link.trim_matches(['\'', '"', '<', '>']).parse::<JoinLink>() {
            Ok(link) if link.word.is_some() || pasted.contains("://") => {
                self.fill(&link);
                self.focus_on_first_gap();
            }
            Ok(_) | Err(_) => {
                if let Some(line) = self.line() {
                    line.insert(pasted);
                }
            }
        }
        self.fault = None;
    }

    /// The line that the keys go to.
    pub(crate) fn line(&mut self) -> Option<&mut LineInput> {
        match self.focus {
            Field::Address => Some(&mut self.address),
            Field::Word => Some(&mut self.word),
            Field::Name => Some(&mut self.name),
            Field::Listed | Field::Join => None,
        }
    }

    /// Goes to another field; a link typed into the address is taken apart on the way.
    pub(crate) fn go(&mut self, forward: bool) {
        self.take_link_apart();
        let order: Vec<Field> =
            ORDER.into_iter().filter(|field| !(self.gathers && *field == Field::Word)).collect();
        let at = order.iter().position(|field| *field == self.focus).unwrap_or(0);
        let step = if forward { 1 } else { order.len() - 1 };
        self.focus = order[(at + step) % order.len()];
    }

    /// Puts the word of a link that was typed as an address into its own field.
    pub(crate) fn take_link_apart(&mut self) {
        if self.focus == Field::Address
            && let Ok(link) = self.address.text().parse::<JoinLink>()
            && link.word.is_some()
        {
            self.fill(&link);
        }
    }

    /// Goes to the first field that still needs something.
    pub(crate) fn focus_on_first_gap(&mut self) {
        self.focus = self.entry().err().map_or(Field::Join, |(field, _)| field);
    }

    /// Goes to a field and says what is wrong there.
    pub(crate) fn blame(&mut self, (field, fault): (Field, String)) {
        self.focus = field;
        self.fault = Some((field, fault));
    }
}

/// A student's name as the server takes it: cleaned, and 1 to 24 characters long; otherwise a
/// fragment that says what is wrong.
pub fn checked_name(typed: &str) -> Result<String, String> {
    let name = text::clean(typed).split_whitespace().collect::<Vec<_>>().join(" ");
    match name.chars().count() {
        0 => Err("a name is needed, so that the instructor knows who is here".to_owned()),
        1..=limits::NAME_CHARS => Ok(name),
        _ => Err(format!("a name has at most {} characters", limits::NAME_CHARS)),
    }
}

/// The name of a group as the server takes it; otherwise a fragment that says what is wrong.
pub fn checked_group(typed: &str) -> Result<String, String> {
    let group = text::clean(typed).split_whitespace().collect::<Vec<_>>().join(" ");
    match group.chars().count() {
        1..=limits::GROUP_CHARS => Ok(group),
        _ => Err(format!("a group has 1 to {} characters", limits::GROUP_CHARS)),
    }
}

/// Whether a port, where one is named, is a number that ports can have.
fn has_possible_port(address: &str) -> bool {
    let behind_host = address.rsplit(']').next().unwrap_or(address);
    behind_host.split_once(':').is_none_or(|(_, port)| port.parse::<u16>().is_ok())
}

const ORDER: [Field; 5] = [Field::Address, Field::Word, Field::Name, Field::Listed, Field::Join];
const ADDRESS_CHARS: usize = 300;
const WORD_CHARS: usize = 64;
const ASK_ADDRESS: &str = "type the address that the instructor shows, or paste the link";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pasted_link_fills_the_form() {
        let check = |pasted: &str, focus: Field, want: (&str, &str, &str, Field)| {
            let mut form = Form { focus, ..Form::new() };
            form.paste(pasted);
            let texts = (form.address.text(), form.word.text(), form.name.text());
            let got = (texts.0.as_str(), texts.1.as_str(), texts.2.as_str(), form.focus);
            assert_eq!(got, want, "{pasted:?}");
        };
        let link = "http://192.0.2.7:7645/?word=radius-talus";
        let filled = ("192.0.2.7:7645", "radius-talus", "", Field::Name);
        check(link, Field::Address, filled);
        check(link, Field::Name, filled);
        check(&format!("\n  {link} \r\nmore"), Field::Word, filled);
        check("192.0.2.7:7645", Field::Address, ("192.0.2.7:7645", "", "", Field::Address));
        check("http://192.0.2.7:7645/", Field::Name, ("192.0.2.7:7645", "", "", Field::Word));
        check("radius talus", Field::Word, ("", "radius talus", "", Field::Word));
        check("Ana\u{1b}[2J\u{202e}", Field::Name, ("", "", "Ana [2J", Field::Name));
        check("", Field::Name, ("", "", "", Field::Name));
        check(&format!("myonym-play '{link}' --listed"), Field::Address, filled);
        check(link, Field::Listed, filled);
        check("nothing to put in", Field::Listed, ("", "", "", Field::Listed));
    }

    #[test]
    fn a_form_is_taken_or_blamed_at_a_field() {
        let check = |address: &str, word: &str, name: &str, want: Result<&str, Field>| {
            let mut form = Form::new();
            form.address.set(address);
            form.word.set(word);
            form.name.set(name);
            let got = form.entry().map_err(|(field, _)| field);
            let got = got.map(|entry| format!("{} {}", entry.word.unwrap(), entry.name.unwrap()));
            assert_eq!(got.as_deref().map_err(|field| *field), want, "{address} {word} {name}");
        };
        check("192.0.2.7:7645", "radius-talus", " Ana  B ", Ok("radius-talus Ana B"));
        check("192.0.2.7:7645", "Radius Talus", "Ana", Ok("radius-talus Ana"));
        check("h:1/?word=radius-ulna", "", "Ana", Ok("radius-ulna Ana"));
        check("h:1/?word=radius-ulna", "radius-talus", "Ana", Ok("radius-talus Ana"));
        check("", "radius-talus", "Ana", Err(Field::Address));
        check("two words", "radius-talus", "Ana", Err(Field::Address));
        check("192.0.2.7:99999", "radius-talus", "Ana", Err(Field::Address));
        check("2001:db8::7", "radius-talus", "Ana", Err(Field::Address));
        check("[2001:db8::7]", "radius-talus", "Ana", Ok("radius-talus Ana"));
        check("https://lab.example", "radius-talus", "Ana", Ok("radius-talus Ana"));
        check("ftp://lab.example", "radius-talus", "Ana", Err(Field::Address));
        check("h:1", "", "Ana", Err(Field::Word));
        check("h:1", "radius", "Ana", Err(Field::Word));
        check("h:1/?word=radius", "radius-talus", "Ana", Err(Field::Word));
        check("h:1", "radius-talus", "  ", Err(Field::Name));
    }

    #[test]
    fn names_are_held_to_the_server_s_measure() {
        let check = |typed: &str, want: Option<&str>| {
            assert_eq!(checked_name(typed).ok().as_deref(), want, "{typed:?}");
        };
        check("Ana", Some("Ana"));
        check("  Ana \t B ", Some("Ana B"));
        check(&"é".repeat(24), Some(&"é".repeat(24)));
        check(&"é".repeat(25), None);
        check("\u{202e}\u{200b} ", None);
    }

    #[test]
    fn a_typed_link_is_taken_apart_when_the_field_is_left() {
        let mut form = Form::new();
        form.address.set("http://192.0.2.7:7645/?word=radius-talus");
        form.go(true);
        assert_eq!(form.address.text(), "192.0.2.7:7645");
        assert_eq!(form.word.text(), "radius-talus");
        form.go(false);
        form.go(false);
        assert_eq!(form.focus, Field::Join);
    }
}
