// Whether what stands in a folder is what Burstloom put there. No link is followed: folders come from
// strangers.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "burstloom/common/files.hpp"

namespace burstloom {

/// What a file holds; nothing where there is none, or something else: a folder, a link, a pipe.
[[nodiscard]] std::optional<Bytes> bytes_of_plain_file(const std::string& path);
/// The `content_hash` of that.
[[nodiscard]] std::optional<std::string> hash_of_plain_file(const std::string& path);

/// Throws Error (usage) where `path` is a symbolic link, whatever it leads to.
void require_no_link(const std::string& path);
/// Throws Error (usage) where there is something in `folder`, and names it.
void require_empty_folder(const std::string& folder);
/// Throws Error (usage) where a file stands that is not empty and holds none of what these hashes stand for.
void require_own_file(const std::string& path, const std::vector<std::string>& hashes);

}  // namespace burstloom
