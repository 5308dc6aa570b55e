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
    /// How long they took to write together, in seconds.
    pub(crate) writing: f64,
    /// How long they had gathered before, together.
    pub(crate) gathering: f64,
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
        let writing = value("myonym_commit_seconds_sum ")?;
        // A build that does not tell gathers for nothing, or not that anybody knew.
        let gathering = value("myonym_gathering_seconds_sum ").unwrap_or_default();
        Some(Self { count, writing, gathering })
    }

    /// Those since an earlier reading, if there were any.
    pub(crate) fn since(self, earlier: Self) -> Option<Self> {
        let count = self.count - earlier.count;
        let writing = self.writing - earlier.writing;
        let gathering = self.gathering - earlier.gathering;
        (count > 0.0).then_some(Self { count, writing, gathering })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The form of the text exposition format of Prometheus, version 0.0.4.
    const PAGE: &str = "HTTP/1.1 200 OK\r\n\r\n# TYPE myonym_commit_seconds histogram\n\
        myonym_commit_seconds_bucket{le=\"0.0005\"} 3\n\
        myonym_commit_seconds_sum 0.25\nmyonym_commit_seconds_count 100\n\
        myonym_gathering_seconds_sum 1.5\nmyonym_gathering_seconds_count 100\n";

    #[test]
    fn commits_are_read_from_the_page_of_counts() {
        let first = Commits::parse(PAGE).unwrap();
        assert_eq!(first, Commits { count: 100.0, writing: 0.25, gathering: 1.5 });
        assert_eq!(first.since(first), None);
        let later = Commits { count: 110.0, writing: 0.75, gathering: 2.0 };
        let between = Commits { count: 10.0, writing: 0.5, gathering: 0.5 };
        assert_eq!(later.since(first), Some(between));
        assert_eq!(Commits::parse("HTTP/1.1 404 Not Found\r\n\r\n"), None);
    }
}
