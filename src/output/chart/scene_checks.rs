//! What the tests of every picture look at.

use super::scene::{Scene, Shape, Text};

pub fn texts(scene: &Scene) -> Vec<&Text> {
    scene
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Text(text) => Some(text),
            _ => None,
        })
        .collect()
}

pub fn assert_texts_apart(scene: &Scene, what: &str) {
    let texts = texts(scene);
    assert!(texts.len() > 5, "{what}");
    let (width, height) = (f64::from(scene.size.width), f64::from(scene.size.height));
    for (position, one) in texts.iter().enumerate() {
        let area = one.area();
        assert!(
            area.left >= 0.0 && area.top >= 0.0 && area.right() <= width && area.bottom() <= height,
            "{what}: \"{}\" leaves the picture",
            one.text
        );
        for other in &texts[position + 1..] {
            assert!(
                !area.overlaps(other.area()),
                "{what}: \"{}\" touches \"{}\"",
                one.text,
                other.text
            );
        }
    }
}

/// Pixels of a PNG, RGB, decoded by the `png` crate.
pub fn decoded(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .expect("PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("size")];
    let info = reader.next_frame(&mut pixels).expect("frame");
    (info.width, info.height, pixels)
}
