//! Frames of RFC 6455, as little of them as both ends of a load need: whole messages, no
//! extensions, nothing in pieces.

use std::ops::Range;

use anyhow::{bail, ensure};

/// Kinds of frame (RFC 6455 section 5.2).
pub(crate) const TEXT: u8 = 1;
pub(crate) const CLOSE: u8 = 8;
pub(crate) const PING: u8 = 9;
pub(crate) const PONG: u8 = 10;

/// Longest payload that is read.
const MOST_BYTES: usize = 1_024 * 1_024;
const LAST: u8 = 0x80;
const MASKED: u8 = 0x80;
/// In place of a length: it follows, in two bytes or in eight.
const MEDIUM: u8 = 0x7e;
const LONG: u8 = 0x7f;

/// Where a frame lies in the bytes that were read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cut {
    /// Its kind.
    pub(crate) kind: u8,
    /// What a client's bytes were mixed with.
    pub(crate) mask: Option<[u8; 4]>,
    /// Its payload.
    pub(crate) payload: Range<usize>,
}

/// Finds the first frame; `None` if it is not all there yet. It ends where its payload does.
///
/// # Errors
/// It comes in pieces, or is longer than 1 MiB.
pub(crate) fn cut(bytes: &[u8]) -> anyhow::Result<Option<Cut>> {
    let [first, second, ..] = *bytes else { return Ok(None) };
    ensure!(first & 0xf0 == LAST, "a frame that is not a whole message");
    let (length, at) = match second & 0x7f {
        MEDIUM => {
            let Some([_, _, a, b]) = bytes.first_chunk() else { return Ok(None) };
            (usize::from(u16::from_be_bytes([*a, *b])), 4)
        }
        LONG => {
            let Some([_, _, long @ ..]) = bytes.first_chunk::<10>() else { return Ok(None) };
            (usize::try_from(u64::from_be_bytes(*long)).unwrap_or(usize::MAX), 10)
        }
        short => (usize::from(short), 2),
    };
    if length > MOST_BYTES {
        bail!("a frame of {length} bytes");
    }
    let mask = (second & MASKED != 0).then(|| bytes[at..].first_chunk::<4>().copied());
    let (mask, start) = match mask {
        Some(None) => return Ok(None),
        Some(mask) => (mask, at + 4),
        None => (None, at),
    };
    let payload = start..start + length;
    Ok((payload.end <= bytes.len()).then_some(Cut { kind: first & 0x0f, mask, payload }))
}

/// Mixes a payload with its mask, or takes it out again (RFC 6455 section 5.3).
pub(crate) fn mix(payload: &mut [u8], mask: [u8; 4]) {
    for (byte, mask) in payload.iter_mut().zip(mask.iter().cycle()) {
        *byte ^= mask;
    }
}

/// A server's frame.
pub(crate) fn from_server(kind: u8, payload: &[u8]) -> Vec<u8> {
    let mut frame = Vec::with_capacity(payload.len() + 10);
    head(&mut frame, kind, 0, payload.len());
    frame.extend_from_slice(payload);
    frame
}

/// Appends a client's frame.
pub(crate) fn from_client(frame: &mut Vec<u8>, kind: u8, payload: &[u8], mask: [u8; 4]) {
    head(frame, kind, MASKED, payload.len());
    frame.extend_from_slice(&mask);
    let start = frame.len();
    frame.extend_from_slice(payload);
    mix(&mut frame[start..], mask);
}

fn head(frame: &mut Vec<u8>, kind: u8, masked: u8, length: usize) {
    frame.push(LAST | kind);
    match (u8::try_from(length), u16::try_from(length)) {
        (Ok(short @ 0..MEDIUM), _) => frame.push(masked | short),
        (_, Ok(medium)) => {
            frame.push(masked | MEDIUM);
            frame.extend_from_slice(&medium.to_be_bytes());
        }
        _ => {
            frame.push(masked | LONG);
            frame.extend_from_slice(&(length as u64).to_be_bytes());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // RFC 6455 section 5.7.
    const HELLO: [u8; 7] = [0x81, 0x05, 0x48, 0x65, 0x6c, 0x6c, 0x6f];
    const MASK: [u8; 4] = [0x37, 0xfa, 0x21, 0x3d];
    const MASKED_HELLO: [u8; 11] =
        [0x81, 0x85, 0x37, 0xfa, 0x21, 0x3d, 0x7f, 0x9f, 0x4d, 0x51, 0x58];

    #[test]
    fn frames_are_those_of_the_standard() {
        assert_eq!(from_server(TEXT, b"Hello"), HELLO);
        let mut frame = Vec::new();
        from_client(&mut frame, TEXT, b"Hello", MASK);
        assert_eq!(frame, MASKED_HELLO);
        // "256 bytes binary message in a single unmasked frame", and 64 KiB.
        assert_eq!(from_server(2, &[0; 256])[..4], [0x82, 0x7e, 0x01, 0x00]);
        assert_eq!(from_server(2, &vec![0; 65_536])[..10], [0x82, 0x7f, 0, 0, 0, 0, 0, 1, 0, 0]);
    }

    #[test]
    fn frames_of_the_standard_are_read() {
        let unmasked = Cut { kind: TEXT, mask: None, payload: 2..7 };
        assert_eq!(cut(&HELLO).unwrap(), Some(unmasked));
        let masked = Cut { kind: TEXT, mask: Some(MASK), payload: 6..11 };
        assert_eq!(cut(&MASKED_HELLO).unwrap(), Some(masked));
        let mut payload = MASKED_HELLO[6..].to_vec();
        mix(&mut payload, MASK);
        assert_eq!(payload, b"Hello");
        // A first fragment, section 5.7 as well.
        assert!(cut(&[0x01, 0x03, 0x48, 0x65, 0x6c]).is_err());
        assert!(cut(&[0x82, 0x7f, 0, 0, 1, 0, 0, 0, 0, 0]).is_err());
    }

    #[test]
    fn a_frame_that_is_not_all_there_is_waited_for() {
        for length in [0, 5, 125, 126, 300, 65_535, 65_536] {
            let mut frame = Vec::new();
            from_client(&mut frame, TEXT, &vec![7; length], MASK);
            for whole in [false, true] {
                let bytes = &frame[..frame.len() - usize::from(!whole)];
                let found = cut(bytes).unwrap();
                assert_eq!(found.is_some(), whole, "{length}");
                assert!(found.is_none_or(|cut| cut.payload.end == frame.len()), "{length}");
            }
            for short in 0..14.min(frame.len()) {
                assert_eq!(cut(&frame[..short]).unwrap(), None, "{length}");
            }
        }
    }
}
