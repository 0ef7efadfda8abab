//! The code keeps its own rules.
