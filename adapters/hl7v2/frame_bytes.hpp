// The bytes around a message of MLLP: <VT> message <FS><CR>.
//
// Lenient: an FS ends the frame also before LF or the next VT; a VT begins one only where a header
//          can follow.  Either byte elsewhere is content.
// Source:  MLLP release 1 (block format, from memory).
#pragma once

namespace meniscus::adapters::hl7v2 {

inline constexpr char kFrameStart = '\x0B';
inline constexpr char kFrameEnd = '\x1C';

/// `byte` stands after an FS: the FS ends a frame.
inline bool follows_frame_end(char byte) {
  return byte == '\r' || byte == '\n' || byte == kFrameStart;
}

/// `byte` stands after a VT: the VT begins a frame (MSH, FHS, BHS).
inline bool begins_header(char byte) { return byte == 'M' || byte == 'F' || byte == 'B'; }

}  // namespace meniscus::adapters::hl7v2
