//! What stands beside the records: seals, answers, photographs, a second typing.
