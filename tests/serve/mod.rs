//! The server for the crew's phones: the real binary on a port of its own, asked by plain HTTP.

mod changes;
mod forms;
mod in_one_go;
mod keys;
mod pages;
mod pairing;
mod safety;
mod server;
mod tls;
mod together;
