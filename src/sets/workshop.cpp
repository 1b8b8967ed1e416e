#include "workshop.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "burstloom/common/content_hash.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/own_files.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;
constexpr const char* kOurs = ".burstloom";
constexpr const char* kSongs = "songs";
constexpr const char* kList = ".burstloom/made.json";
constexpr const char* kLock = ".burstloom/lock";

void make_folder(const std::string& path) {
  std::error_code problem;
  fs::create_directories(path, problem);
  if (problem)
    throw Error(Fault::machine, "cannot make this folder (" + problem.message() + ")", printable(path, 200),
                "choose another place");
}

// Of a set, what was finished before stays.
void write_one_of_set(const std::string& path, std::span<const std::uint8_t> content) {
  try {
    write_file(path, content);
  } catch (const Error& error) {
    throw Error(error.fault(), error.problem(), error.where(),
                "make room and run the same again: what is finished stays, and it goes on from there");
  }
}

std::span<const std::uint8_t> bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

// Where files of a set are: a list from a stranger may name any.
bool is_place_of_set(const std::string& path) {
  const fs::path named(path);
  const std::string folder = named.parent_path().string(), name = named.filename().string();
  if (name.empty() || name == "." || name == ".." || path == kList || path == kLock) return false;
  return path == name || (path == folder + "/" + name && (folder == kSongs || folder == kOurs));
}

bool is_set(const std::string& folder) {
  std::error_code ignored;
  return fs::exists(folder + "/" + kOurs, ignored) || fs::exists(folder + "/set.json", ignored);
}

std::vector<std::string> names_in(const std::string& folder) {
  std::vector<std::string> names;
  std::error_code problem;
  for (fs::directory_iterator it(folder, problem), end; !problem && it != end; it.increment(problem))
    names.push_back(it->path().filename().string());
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace

Workshop::Workshop(const std::string& folder, bool force) : folder_(folder), force_(force) {
  for (const std::string& own : {folder_, inside(kOurs), inside(kSongs), inside(kLock), inside(kList)})
    require_no_link(own);
  if (!force && !is_set(folder_)) require_empty_folder(folder_);
  for (const char* part : {kOurs, kSongs}) make_folder(inside(part));
  take_lock();
  read_list();
  remove_temporaries();
}

Workshop::~Workshop() {
  ::close(lock_);
}

void Workshop::take_lock() {
  const std::string path = inside(kLock);
  lock_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, 0666);
  if (lock_ < 0)
    throw Error(Fault::machine, std::string("cannot write here (") + std::strerror(errno) + ")",
                printable(path, 200), "choose another place");
  if (::flock(lock_, LOCK_EX | LOCK_NB) != 0) {
    ::close(lock_);
    throw Error(Fault::usage, "another run is building in this folder", printable(folder_, 200),
                "wait until it is done, or give another --out");
  }
}

// "songs/a.burst.part123", as common/files names what it is writing, of a file that is made here.
bool Workshop::is_temporary(const std::string& path) const {
  const auto at = path.rfind(".part");
  if (at == std::string::npos || at + 5 == path.size() ||
      path.find_first_not_of("0123456789", at + 5) != std::string::npos)
    return false;
  const std::string made = path.substr(0, at);
  return made == kList || made_.count(made) != 0;
}

void Workshop::remove_temporaries() const {
  std::error_code ignored;
  for (const std::string& folder : {std::string(), kSongs + std::string("/"), kOurs + std::string("/")})
    for (const std::string& name : names_in(inside(folder)))
      if (is_temporary(folder + name)) ::unlink(inside(folder + name).c_str());
}

std::optional<Bytes> Workshop::kept(const std::string& name) const {
  const std::string path = std::string(kOurs) + "/" + name;
  auto there = bytes_of_plain_file(inside(path));
  const std::lock_guard lock(mutex_);
  used_.insert(path);
  const auto found = made_.find(path);
  if (there && (found == made_.end() || content_hash(*there) != found->second.content)) there.reset();
  return there;
}

void Workshop::keep(const std::string& name, std::span<const std::uint8_t> content) {
  const std::string path = std::string(kOurs) + "/" + name;
  place(path, "", content);
  const std::lock_guard lock(mutex_);
  used_.insert(path);
}

bool Workshop::is_made(const std::string& path, const std::string& key) const {
  Made made;
  {
    const std::lock_guard lock(mutex_);
    const auto found = made_.find(path);
    if (found == made_.end() || (!key.empty() && found->second.key != key)) return false;
    made = found->second;
  }
  return hash_of_plain_file(inside(path)) == made.content;
}

bool Workshop::make(const std::string& path, const std::string& key,
                    const std::function<std::string()>& content) {
  return !is_made(path, key) && place(path, key, bytes_of(content()));
}

bool Workshop::place(const std::string& path, const std::string& key, std::span<const std::uint8_t> content) {
  const std::lock_guard writing(writing_);
  const std::string at = inside(path), hash = content_hash(content);
  require_no_link(fs::path(at).parent_path().string());
  const auto there = hash_of_plain_file(at);
  {
    const std::lock_guard lock(mutex_);
    const Made known = made_.count(path) != 0 ? made_.at(path) : Made{};
    if (!force_) require_own_file(at, {hash, known.content, known.before});
    made_[path] = {key, hash, there.value_or("")};
    write_list();
  }
  if (there == hash) return false;
  write_one_of_set(at, content);
  return true;
}

std::string Workshop::hash_of(const std::string& path) const {
  const std::lock_guard lock(mutex_);
  return made_.at(path).content;
}

void Workshop::disown(const std::set<std::string>& paths) {
  const std::lock_guard lock(mutex_);
  for (auto& [path, made] : made_)
    if (paths.count(path) != 0) made.key.clear();
  write_list();
}

std::string Workshop::text_of(const std::string& path) const {
  const Bytes bytes = read_file(inside(path));
  return {bytes.begin(), bytes.end()};
}

std::vector<std::string> Workshop::strays(const std::set<std::string>& made) const {
  std::vector<std::string> found;
  for (const std::string& name : names_in(inside(kSongs)))
    if (made.count("songs/" + name) == 0) found.push_back("songs/" + name);
  return found;
}

bool Workshop::is_unused(const std::string& path, const Made& made) const {
  if (!path.starts_with(kOurs + std::string("/")) || used_.count(path) != 0) return false;
  const auto there = hash_of_plain_file(inside(path));
  return there && (*there == made.content || *there == made.before);
}

void Workshop::tidy() {
  const std::lock_guard lock(mutex_);
  for (auto& [path, made] : made_) {
    if (is_unused(path, made)) ::unlink(inside(path).c_str());
    made.before.clear();
  }
  std::error_code ignored;
  std::erase_if(made_, [&](const auto& entry) { return !fs::exists(inside(entry.first), ignored); });
  write_list();
}

// What cannot be read says nothing: the files are made once more.
void Workshop::read_list() {
  const auto bytes = bytes_of_plain_file(inside(kList));
  if (!bytes) return;
  const auto list = nlohmann::json::parse(*bytes, nullptr, false);
  if (!list.is_object()) return;
  for (const auto& [path, entry] : list.items()) {
    const bool is_list =
        entry.is_array() && entry.size() >= 2 && entry.size() <= 3 &&
        std::all_of(entry.begin(), entry.end(), [](const auto& it) { return it.is_string(); });
    if (!is_list || !is_place_of_set(path)) continue;
    Made& made = made_[path] = {entry[0].template get<std::string>(), entry[1].template get<std::string>()};
    if (entry.size() == 3) made.before = entry[2].template get<std::string>();
  }
}

void Workshop::write_list() const {
  nlohmann::json list = nlohmann::json::object();
  for (const auto& [path, made] : made_) {
    list[path] = {made.key, made.content};
    if (!made.before.empty()) list[path].push_back(made.before);
  }
  write_one_of_set(inside(kList), bytes_of(list.dump(0)));
}

}  // namespace burstloom
