//! Stage 5, check: the results of one sample, one file, one source become figures and findings.
//!
//! Chemistry with its sources. Proposes, never changes a result.
