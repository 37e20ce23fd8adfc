//! The `cladlog` program: hands the arguments to [`cladlog::run`].

fn main() -> std::process::ExitCode {
    cladlog::run(std::env::args_os())
}
