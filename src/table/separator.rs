//! What stands between the cells of a line.

/// What stands between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Separator {
    #[default]
    Comma,
    Semicolon,
    Tab,
}

impl Separator {
    pub const ALL: [Self; 3] = [Self::Comma, Self::Semicolon, Self::Tab];

    pub const fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }

    /// As a key's value.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
        }
    }

    /// The one of that word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|separator| separator.word() == word)
    }

    /// The one of which a header has most; a comma where it has none.
    pub fn of_header(header: &str) -> Self {
        let count = |separator: Self| {
            let sign = char::from(separator.byte());
            header.matches(sign).count()
        };
        let most = Self::ALL.into_iter().rev().max_by_key(|s| count(*s));
        most.filter(|s| count(*s) > 0).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_tells_its_separator() {
        assert_eq!(
            Separator::of_header("time,temperature_degC"),
            Separator::Comma
        );
        assert_eq!(
            Separator::of_header("Datum;Zeit;Temp, °C"),
            Separator::Semicolon
        );
        assert_eq!(Separator::of_header("Date\tTime"), Separator::Tab);
        assert_eq!(Separator::of_header("time"), Separator::Comma);
        for separator in Separator::ALL {
            assert_eq!(Separator::of_word(separator.word()), Some(separator));
        }
    }
}
