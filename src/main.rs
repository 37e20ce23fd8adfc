//! The `cladlog` program: hands the arguments to [`cladlog::cli`].

fn main() -> std::process::ExitCode {
    cladlog::cli::run(std::env::args_os())
}
