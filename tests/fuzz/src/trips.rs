//! There and back: a design said in another form is the same design.

use battenboard_designfile::{DECK_LIMIT, JOINT_LIMIT, LOAD_LIMIT, MEMBER_LIMIT, TEXT_LIMIT, read, set_stock, write};
use battenboard_engine::design::Design;
use battenboard_engine::design::canonical::{canonical_text, from_canonical};
use battenboard_proto::{convert, v1};
use prost::Message;

/// Written as a file and read again. On the wire there may be more than a file may hold; that is not read.
pub fn text(design: &Design) {
    let written = write(design);
    let counts = [
        (written.len(), TEXT_LIMIT),
        (design.members.len(), MEMBER_LIMIT),
        (design.joints.len(), JOINT_LIMIT),
        (design.anchors.len(), JOINT_LIMIT),
        (design.decks.len(), DECK_LIMIT),
        (design.loads.len(), LOAD_LIMIT),
    ];
    if counts.iter().any(|(count, most)| count > most) {
        return;
    }
    let again = match read(&written) {
        Ok(again) => again.design,
        Err(mistakes) => panic!("{}\n{written}", mistakes[0]),
    };
    assert_eq!(&again, design, "{written}");
    assert_eq!(write(&again), written);
}

/// Its one text, and the design of that text.
pub fn canonical(design: &Design) {
    let text = canonical_text(design);
    let again = from_canonical(&text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    assert_eq!(&again, design, "{text}");
}

/// To the wire and back. Compared as bytes, so that numbers that are none are compared too.
pub fn wire(design: &Design) {
    let there = |design: &Design| convert::frame_to_wire(design).encode_to_vec();
    let bytes = there(design);
    let frame = v1::Frame::decode(bytes.as_slice()).expect("what was encoded decodes");
    let again = convert::frame_from_wire(frame).expect("what was a design is one");
    assert_eq!(there(&again), bytes);
}

/// The first member's stock changed to the last one in the file: the same design but for that.
pub fn edited(text: &str, design: &Design) {
    let (Some(member), Some(stock)) = (design.members.first(), design.stock.last()) else { return };
    // A row is changed as a whole; that its one member alone can't be is an answer too.
    let Ok(changed) = set_stock(text, std::slice::from_ref(&member.tag), &stock.name, None) else { return };
    let mut expected = design.clone();
    expected.members[0].stock.clone_from(&stock.name);
    assert_eq!(read(&changed).expect("what was edited is read").design, expected, "{changed}");
}
