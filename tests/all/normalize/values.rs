//! Result cells with what stands beside them.
