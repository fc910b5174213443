//! The two DOS code pages that old laboratory programs still write, which the Encoding Standard
//! does not have.

use std::borrow::Cow;

/// The characters of the upper half. Source: unicode.org, Public/MAPPINGS/VENDORS/MICSFT/PC/CP437.TXT
/// and CP850.TXT.
#[derive(Debug, PartialEq)]
pub(super) struct CodePage {
    pub(super) name: &'static str,
    upper: &'static str,
}

static PAGES: [CodePage; 2] = [
    CodePage {
        name: "cp437",
        upper: "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u{a0}",
    },
    CodePage {
        name: "cp850",
        upper: "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒáíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐└┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u{ad}±‗¾¶§÷¸°¨·¹³²■\u{a0}",
    },
];

impl CodePage {
    pub(super) fn parse(label: &str) -> Option<&'static Self> {
        let digits = ["cp", "ibm", "dos-", "dos"].iter().find_map(|prefix| {
            let head = label.get(..prefix.len())?;
            head.eq_ignore_ascii_case(prefix)
                .then(|| &label[prefix.len()..])
        })?;
        PAGES.iter().find(|page| &page.name[2..] == digits)
    }

    pub(super) fn decode<'a>(&self, bytes: &'a [u8]) -> Cow<'a, str> {
        if let Ok(text) = std::str::from_utf8(bytes)
            && text.is_ascii()
        {
            return Cow::Borrowed(text);
        }
        let upper: Vec<char> = self.upper.chars().collect();
        Cow::Owned(
            bytes
                .iter()
                .map(|b| match b {
                    0x80.. => upper[usize::from(b - 0x80)],
                    _ => char::from(*b),
                })
                .collect(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_have_128_characters() {
        for page in &PAGES {
            assert_eq!(page.upper.chars().count(), 128, "{}", page.name);
        }
    }

    #[test]
    fn micro_degree_and_umlaut_are_where_they_belong() {
        for label in ["cp850", "CP437", "ibm850"] {
            let page = CodePage::parse(label).unwrap();
            assert_eq!(page.decode(b"\xe6g/L \xf8C \x81"), "µg/L °C ü", "{label}");
        }
    }

    #[test]
    fn err_other_pages_are_none() {
        assert_eq!(CodePage::parse("cp852"), None);
        assert_eq!(CodePage::parse("c"), None);
    }
}
