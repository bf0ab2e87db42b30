//! The one list of files in `models/`; a test fails when a file there is missing here.

use crate::keys::kinds::Kind;

macro_rules! files {
    ($($kind:ident in $folder:literal: $($name:literal)*;)*) => {
        &[$($((
            Kind::$kind,
            $name,
            include_str!(concat!("../../models/", $folder, "/", $name, ".toml")),
        ),)*)*]
    };
}

/// Kind, name, text.
pub(super) static EMBEDDED: &[(Kind, &str, &str)] = files! {
    Machine in "machines":
        "bench-110"
        "bench-20"
        "bench-220"
        "bench-60"
        "floor-500"
        "hall-1000"
        "warm-250";
    Material in "materials":
        "abs"
        "asa"
        "hips"
        "pa12"
        "pa6"
        "pc"
        "peek"
        "petg"
        "pla-annealed"
        "pla"
        "pp"
        "pva"
        "tpu";
    Panel in "panels":
        "acrylic-4"
        "aluminium-composite-3"
        "double-glass"
        "glass-4"
        "insulated-steel-25"
        "painted-steel-1"
        "plywood-9"
        "polycarbonate-4"
        "polycarbonate-twin-6";
    Fan in "fans":
        "axial-120"
        "axial-120-quiet"
        "axial-120-strong"
        "axial-40"
        "axial-60"
        "axial-80"
        "axial-80-quiet"
        "axial-92"
        "blower-120"
        "blower-50"
        "blower-75"
        "blower-97"
        "inline-100"
        "inline-125";
};
