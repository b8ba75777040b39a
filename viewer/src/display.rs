//! What a machine must have before a window or a picture can be made, said in one line.

use std::ffi::OsString;

/// Debian's names of what the renderer loads at run time.
const FOR_PICTURES: &str = "libvulkan1 mesa-vulkan-drivers";
const FOR_WINDOWS: &str = "libxcursor1 libxi6 libxkbcommon-x11-0";

/// Why nothing can be drawn here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NoPicture {
    /// Nothing to open a window on.
    #[error(
        "no display: neither DISPLAY nor WAYLAND_DISPLAY is set; use --shot FILE.png for a \
         picture without a window, or xvfb-run for a window nobody sees"
    )]
    NoDisplay,
    /// The renderer or the window system gave up while starting.
    #[error(
        "cannot draw here ({reason}); on Debian install {FOR_PICTURES}, and for a window \
         {FOR_WINDOWS} too, or use --shot FILE.png if only the window fails"
    )]
    NotStarted {
        /// What it said.
        reason: String,
    },
    /// It had started.
    #[error("stopped in the middle: {reason}")]
    Stopped {
        /// What it said.
        reason: String,
    },
}

/// Whether a window could be opened, judged by the environment alone.
pub(crate) fn display_named(variable: impl Fn(&str) -> Option<OsString>) -> Result<(), NoPicture> {
    let named = cfg!(not(all(unix, not(target_os = "macos"))))
        || ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"]
            .into_iter()
            .any(|name| variable(name).is_some_and(|value| !value.is_empty()));
    if named { Ok(()) } else { Err(NoPicture::NoDisplay) }
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn prop_a_display_is_a_variable_that_says_something() {
        let with = |name: &'static str, value: &'static str| {
            display_named(move |asked| (asked == name).then(|| value.into()))
        };
        assert_eq!(display_named(|_| None), Err(NoPicture::NoDisplay));
        assert_eq!(with("DISPLAY", ""), Err(NoPicture::NoDisplay));
        assert_eq!(with("HOME", "/root"), Err(NoPicture::NoDisplay));
        assert_eq!(with("DISPLAY", ":0"), Ok(()));
        assert_eq!(with("WAYLAND_DISPLAY", "wayland-0"), Ok(()));
    }

    #[test]
    fn prop_every_reason_is_one_line_that_names_a_way_out() {
        for reason in [NoPicture::NoDisplay, NoPicture::NotStarted { reason: "no adapter".into() }]
        {
            let line = reason.to_string();
            assert!(!line.contains('\n') && !line.contains("  "), "{line}");
            assert!(line.contains("--shot"), "{line}");
        }
    }
}
