//! A scene changed by hand: what can be taken hold of.

/// Something of a scene that can be picked, moved or edited, by its stable id.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thing {
    /// What must not be touched.
    Target(String),
    /// What stops or softens pieces.
    Aid(String),
    /// A patch of other ground.
    Patch(String),
    /// A cut.
    Cut(String),
    /// The climber.
    Climber,
    /// The climber's line.
    ClimberLine,
    /// The feller.
    Feller,
    /// The tree itself.
    Tree,
}
