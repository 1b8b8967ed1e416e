// What a file is, by what it begins with: to say which file was meant where another one was given.
#pragma once

#include <string>
#include <string_view>

namespace burstloom {

enum class FileKind { unknown, empty, midi, sound, stream, profile, arrangement, set, archive, web_page };

/// `content`: all of the file, or what it begins with.
[[nodiscard]] FileKind kind_of_content(std::string_view content);

/// Throws Error (bad_input) where `content` is certainly of another kind than `wanted`; the error says what
/// it is and where it belongs. `file` is the name that the user gave.
void require_kind(FileKind wanted, std::string_view content, const std::string& file);

}  // namespace burstloom
