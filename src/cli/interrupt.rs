//! Ctrl-C: the first asks the run to end at its next block, the second ends the program.

use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use super::failure::Failure;
use super::outside;

/// Puts the flag up after some minutes.
pub fn after(minutes: f64, flag: &Arc<AtomicBool>) {
    let raised = Arc::clone(flag);
    std::thread::spawn(move || {
        std::thread::sleep(Duration::from_secs_f64(60.0 * minutes));
        raised.store(true, Ordering::SeqCst);
        let _ = writeln!(
            anstream::stderr(),
            "the time is up: stopping at the next block"
        );
    });
}

/// A flag that goes up with the first Ctrl-C (or request to terminate).
///
/// # Errors
/// Where the system takes no handler.
pub fn watch() -> Result<Arc<AtomicBool>, Failure> {
    let flag = Arc::new(AtomicBool::new(false));
    let raised = Arc::clone(&flag);
    let handler = move || {
        if raised.swap(true, Ordering::SeqCst) {
            // Whole files and numbered parts make this safe at any moment. Programs that were asked would live on.
            outside::end_all();
            std::process::exit(1);
        }
        // Where stderr is closed there is nobody to tell.
        let _ = writeln!(
            anstream::stderr(),
            "\nstopping at the next block; Ctrl-C once more to end at once"
        );
    };
    ctrlc::set_handler(handler)
        .map_err(|error| Failure::other(format!("failed to watch for Ctrl-C: {error}"), ""))?;
    Ok(flag)
}
