//! What the server tells of its commits to the disk, on its page of counts.

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

/// Longest wait for the page.
const PATIENCE: Duration = Duration::from_secs(2);

/// Commits so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Commits {
    /// How many.
    pub(crate) count: f64,
    /// How long they took together, in seconds.
    pub(crate) seconds: f64,
}

impl Commits {
    /// Reads the page; `None` where there is none.
    pub(crate) fn read(address: SocketAddr) -> Option<Self> {
        let mut stream = TcpStream::connect(address).ok()?;
        stream.set_read_timeout(Some(PATIENCE)).ok()?;
        let request =
            format!("GET /metrics HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
        stream.write_all(request.as_bytes()).ok()?;
        let mut page = Vec::new();
        stream.read_to_end(&mut page).ok()?;
        Self::parse(&String::from_utf8_lossy(&page))
    }

    fn parse(page: &str) -> Option<Self> {
        let value = |name: &str| {
            let rest = page.lines().find_map(|line| line.strip_prefix(name))?;
            rest.trim().parse::<f64>().ok()
        };
        let count = value("myonym_commit_seconds_count ")?;
        Some(Self { count, seconds: value("myonym_commit_seconds_sum ")? })
    }

    /// Those since an earlier reading, if there were any.
    pub(crate) fn since(self, earlier: Self) -> Option<Self> {
        let count = self.count - earlier.count;
        let seconds = self.seconds - earlier.seconds;
        (count > 0.0).then_some(Self { count, seconds })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The form of the text exposition format of Prometheus, version 0.0.4.
    const PAGE: &str = "HTTP/1.1 200 OK\r\n\r\n# TYPE myonym_commit_seconds histogram\n\
        myonym_commit_seconds_bucket{le=\"0.0005\"} 3\n\
        myonym_commit_seconds_sum 0.25\nmyonym_commit_seconds_count 100\n";

    #[test]
    fn commits_are_read_from_the_page_of_counts() {
        let first = Commits::parse(PAGE).unwrap();
        assert_eq!(first, Commits { count: 100.0, seconds: 0.25 });
        assert_eq!(first.since(first), None);
        let later = Commits { count: 110.0, seconds: 0.75 };
        assert_eq!(later.since(first), Some(Commits { count: 10.0, seconds: 0.5 }));
        assert_eq!(Commits::parse("HTTP/1.1 404 Not Found\r\n\r\n"), None);
    }
}
