//! Rehearsal: a synthetic person speaks every answer.
