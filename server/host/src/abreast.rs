//! Several things at once, while somebody waits for all of them.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::thread;

use tokio::runtime::Handle;

/// Does something with each, on as many threads as the machine has cores, and tells in order what came
/// of it. Tasks may be spawned as from here.
pub(crate) fn on_threads<T: Sync, R: Send>(all: &[T], act: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let runtime = Handle::try_current().ok();
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    let part = all.len().div_ceil(threads).max(1);
    let act_on = &|part: &[T]| {
        let _inside = runtime.as_ref().map(Handle::enter);
        part.iter().map(&act).collect::<Vec<R>>()
    };
    thread::scope(|scope| {
        let running: Vec<_> =
            all.chunks(part).map(|part| scope.spawn(move || act_on(part))).collect();
        let done = running.into_iter().map(thread::ScopedJoinHandle::join);
        done.flat_map(|part| part.unwrap_or_else(|panic| resume_unwind(panic))).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_of_it_is_in_order() {
        for count in 0..20 {
            let all: Vec<u32> = (0..count).collect();
            let doubled: Vec<u32> = all.iter().map(|one| one * 2).collect();
            assert_eq!(on_threads(&all, |one| one * 2), doubled);
        }
    }

    #[tokio::test]
    async fn tasks_may_be_spawned() {
        let tasks = on_threads(&[1, 2, 3], |one| {
            let one = *one;
            tokio::spawn(async move { one * 10 })
        });
        let mut found = Vec::new();
        for task in tasks {
            found.push(task.await.unwrap());
        }
        assert_eq!(found, [10, 20, 30]);
    }
}
