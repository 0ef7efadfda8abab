//! Starts the program.

fn main() -> std::process::ExitCode {
    undersong::cli::run()
}
