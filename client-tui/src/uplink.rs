//! How the connection stands, as the screens show it.

use myonym_wire::Millis;

use crate::net::News;
use crate::words;

/// How the connection stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) enum Uplink {
    /// There is none.
    #[default]
    Down,
    /// It is being made; after a loss, with what happened.
    Trying(Option<String>),
    /// It stands, and the server has said welcome.
    Up,
    /// It is lost; the next try follows by itself.
    Lost {
        /// What happened.
        why: String,
        /// When the next try begins.
        retry_at: Millis,
    },
}

impl Uplink {
    /// Follows the news of a connection. A welcome is the model's to tell, by [`Uplink::Up`].
    pub(crate) fn follow<M>(&mut self, news: &News<M>, now: Millis) {
        *self = match news {
            News::Trying => Self::Trying(self.trouble().map(str::to_owned)),
            News::Lost { why, retry_ms } => {
                Self::Lost { why: why.clone(), retry_at: now.plus(Millis(*retry_ms)) }
            }
            News::Closed(_) => Self::Down,
            News::Heard(_) => return,
        };
    }

    /// Whether messages get through.
    pub(crate) fn is_up(&self) -> bool {
        *self == Self::Up
    }

    /// A sentence for a connection that is lost; nothing for one that stands or is new.
    pub(crate) fn notice(&self, now: Millis) -> Option<String> {
        let why = self.trouble()?;
        let when = if let Self::Lost { retry_at, .. } = self {
            format!("in {}", words::seconds(retry_at.minus(now)))
        } else {
            "now".to_owned()
        };
        Some(format!("No connection ({why}). Trying again {when}."))
    }

    fn trouble(&self) -> Option<&str> {
        match self {
            Self::Lost { why, .. } | Self::Trying(Some(why)) => Some(why),
            Self::Down | Self::Trying(None) | Self::Up => None,
        }
    }
}

/// A short notice that goes away by itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Notice {
    /// What it says.
    pub(crate) text: String,
    until: Millis,
}

impl Notice {
    /// A notice that stands for a while from now on.
    pub(crate) fn new(text: impl Into<String>, now: Millis) -> Self {
        Self { text: text.into(), until: now.plus(STANDS) }
    }

    /// Whether it has stood long enough.
    pub(crate) fn is_past(&self, now: Millis) -> bool {
        now >= self.until
    }
}

/// Long enough to read two lines twice.
const STANDS: Millis = Millis(10_000);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loss_is_told_until_the_welcome() {
        let mut uplink = Uplink::default();
        uplink.follow(&News::<()>::Trying, Millis(0));
        assert_eq!(uplink.notice(Millis(0)), None);
        uplink.follow(&News::<()>::Lost { why: "gone".to_owned(), retry_ms: 2_500 }, Millis(0));
        let notice = |uplink: &Uplink, now| uplink.notice(Millis(now)).unwrap();
        assert_eq!(notice(&uplink, 0), "No connection (gone). Trying again in 3 s.");
        assert_eq!(notice(&uplink, 9_000), "No connection (gone). Trying again in 0 s.");
        uplink.follow(&News::<()>::Trying, Millis(9_000));
        assert_eq!(notice(&uplink, 9_000), "No connection (gone). Trying again now.");
        uplink = Uplink::Up;
        assert_eq!(uplink.notice(Millis(9_000)), None);
    }
}
