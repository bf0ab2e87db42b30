//! Channels of sRGB and the light that they stand for (IEC 61966-2-1).

/// The light of a channel, 0 to 1.
pub fn linear(channel: u8) -> f64 {
    let share = f64::from(channel) / 255.0;
    if share <= 0.04045 {
        share / 12.92
    } else {
        ((share + 0.055) / 1.055).powf(2.4)
    }
}

/// The channel of so much light; what is beyond 0 to 1 is cut.
pub fn channel(linear: f64) -> u8 {
    let linear = linear.clamp(0.0, 1.0);
    let share = if linear <= 0.003_130_8 {
        12.92 * linear
    } else {
        1.055 * linear.powf(1.0 / 2.4) - 0.055
    };
    (255.0 * share).round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The standard's own ends, and half of the light, whose channel is 188 (often quoted; from memory).
    #[test]
    fn channels_are_those_of_the_standard() {
        assert_eq!((linear(0), linear(255)), (0.0, 1.0));
        assert_eq!(channel(0.5), 188);
        assert!((0..=255).all(|c| channel(linear(c)) == c));
    }
}
