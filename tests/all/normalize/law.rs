//! The account law, for random sheets and random plans.
