#include "workshop.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "burstloom/common/error.hpp"
#include "keys.hpp"

namespace burstloom {
namespace {

namespace fs = std::filesystem;
constexpr const char* kOurs = ".burstloom";
constexpr const char* kList = ".burstloom/made.json";

void make_folder(const std::string& path) {
  std::error_code problem;
  fs::create_directories(path, problem);
  if (problem)
    throw Error(Fault::machine, "cannot make this folder (" + problem.message() + ")", printable(path, 200),
                "choose another place");
}

// Of a set, what was finished before stays.
template <class Content>
void write_one_of_set(const std::string& path, const Content& content) {
  try {
    write_file(path, content);
  } catch (const Error& error) {
    throw Error(error.fault(), error.problem(), error.where(),
                "make room and run the same again: what is finished stays, and it goes on from there");
  }
}

// "a.burst.part123", as common/files names what it is writing, of the kinds of files that are written here.
bool is_temporary(const std::string& name) {
  const auto at = name.rfind(".part");
  if (at == std::string::npos || at + 5 == name.size() ||
      name.find_first_not_of("0123456789", at + 5) != std::string::npos)
    return false;
  const std::string ending = fs::path(name.substr(0, at)).extension().string();
  return ending == ".burst" || ending == ".html" || ending == ".json";
}

std::vector<std::string> names_in(const std::string& folder) {
  std::vector<std::string> names;
  std::error_code problem;
  for (fs::directory_iterator it(folder, problem), end; !problem && it != end; it.increment(problem))
    names.push_back(it->path().filename().string());
  std::sort(names.begin(), names.end());
  return names;
}

void remove_temporaries(const std::string& folder) {
  std::error_code ignored;
  for (const std::string& name : names_in(folder))
    if (is_temporary(name)) fs::remove(fs::path(folder) / name, ignored);
}

std::optional<Bytes> bytes_of(const std::string& path) {
  std::error_code ignored;
  if (!fs::is_regular_file(path, ignored)) return std::nullopt;
  return read_file(path);
}

}  // namespace

Workshop::Workshop(const std::string& folder) : folder_(folder) {
  make_folder(inside("songs"));
  make_folder(inside(kOurs));
  const std::string path = inside(".burstloom/lock");
  lock_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  if (lock_ < 0)
    throw Error(Fault::machine, std::string("cannot write here (") + std::strerror(errno) + ")",
                printable(path, 200), "choose another place");
  if (::flock(lock_, LOCK_EX | LOCK_NB) != 0) {
    ::close(lock_);
    throw Error(Fault::usage, "another run is building in this folder", printable(folder_, 200),
                "wait until it is done, or give another --out");
  }
  for (const char* part : {"", "songs", kOurs}) remove_temporaries(inside(part));
  read_list();
}

Workshop::~Workshop() {
  ::close(lock_);
}

std::optional<Bytes> Workshop::kept(const std::string& name) const {
  {
    const std::lock_guard lock(mutex_);
    used_.insert(name);
  }
  return bytes_of(inside(std::string(kOurs) + "/" + name));
}

void Workshop::keep(const std::string& name, std::span<const std::uint8_t> content) {
  const std::lock_guard writing(writing_);
  write_one_of_set(inside(std::string(kOurs) + "/" + name), content);
  const std::lock_guard lock(mutex_);
  used_.insert(name);
}

void Workshop::forget_the_rest() {
  std::error_code ignored;
  for (const std::string& name : names_in(inside(kOurs)))
    if (name != "lock" && name != "made.json" && used_.count(name) == 0)
      fs::remove(fs::path(inside(kOurs)) / name, ignored);
}

bool Workshop::is_made(const std::string& path, const std::string& key) const {
  Made made;
  {
    const std::lock_guard lock(mutex_);
    const auto found = made_.find(path);
    if (found == made_.end() || (!key.empty() && found->second.key != key)) return false;
    made = found->second;
  }
  const auto there = bytes_of(inside(path));
  return there && content_hash(*there) == made.content;
}

bool Workshop::make(const std::string& path, const std::string& key,
                    const std::function<std::string()>& content) {
  if (is_made(path, key)) return false;
  const std::string text = content();
  const std::lock_guard writing(writing_);
  write_one_of_set(inside(path), text);
  const std::lock_guard lock(mutex_);
  made_[path] = {key, content_hash(text)};
  write_list();
  return true;
}

void Workshop::disown(const std::set<std::string>& paths) {
  const std::lock_guard lock(mutex_);
  if (std::erase_if(made_, [&](const auto& entry) { return paths.count(entry.first) != 0; }) > 0)
    write_list();
}

std::string Workshop::text_of(const std::string& path) const {
  const Bytes bytes = read_file(inside(path));
  return {bytes.begin(), bytes.end()};
}

std::vector<std::string> Workshop::strays(const std::set<std::string>& made) const {
  std::vector<std::string> found;
  for (const std::string& name : names_in(inside("songs")))
    if (made.count("songs/" + name) == 0) found.push_back("songs/" + name);
  return found;
}

void Workshop::tidy_list(const std::set<std::string>& made) {
  const std::lock_guard lock(mutex_);
  if (std::erase_if(made_, [&](const auto& entry) { return made.count(entry.first) == 0; }) > 0) write_list();
}

// What cannot be read says nothing: the files are made once more.
void Workshop::read_list() {
  const auto bytes = bytes_of(inside(kList));
  if (!bytes) return;
  const auto list = nlohmann::json::parse(*bytes, nullptr, false);
  if (!list.is_object()) return;
  for (const auto& [path, entry] : list.items())
    if (entry.is_array() && entry.size() == 2 && entry[0].is_string() && entry[1].is_string())
      made_[path] = {entry[0].get<std::string>(), entry[1].get<std::string>()};
}

void Workshop::write_list() const {
  nlohmann::json list = nlohmann::json::object();
  for (const auto& [path, made] : made_) list[path] = {made.key, made.content};
  write_one_of_set(inside(kList), list.dump(0));
}

}  // namespace burstloom
