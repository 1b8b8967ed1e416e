#include "burstloom/sets/build.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <numeric>

#include "burstloom/coil/supply.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/sets/set_json.hpp"
#include "burstloom/sets/weave_one.hpp"
#include "burstloom/stream/one_stream.hpp"
#include "evening.hpp"
#include "in_parallel.hpp"
#include "keys.hpp"
#include "plan.hpp"
#include "song_line.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kCurvePoints = 1000;

// "Ferry Call (live).flac", third of twenty: "03-ferry-call-live".
std::string stem_of(const std::string& file, std::size_t place, std::size_t songs) {
  constexpr std::size_t kLongest = 40;
  std::string stem;
  for (const char c : std::filesystem::path(file).stem().string()) {
    const bool plain = std::isalnum(static_cast<unsigned char>(c)) != 0;
    if (plain)
      stem += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    else if (!stem.empty() && stem.back() != '-')
      stem += '-';
  }
  if (stem.size() > kLongest) stem.resize(kLongest);
  while (!stem.empty() && stem.back() == '-') stem.pop_back();
  const std::string number = std::to_string(place + 1);
  const std::size_t digits = std::max<std::size_t>(2, std::to_string(songs).size());
  return std::string(digits - std::min(digits, number.size()), '0') + number + "-" +
         (stem.empty() ? "song" : stem);
}

// One run. The steps are those of `build`, in their order.
class Building {
 public:
  Building(const SetFile& file, const BuildOptions& options)
      : file_(file),
        options_(options),
        coil_(read_profile(file.path_of(file.coil))),
        workshop_(options.folder.empty() ? nullptr
                                         : std::make_unique<Workshop>(options.folder, options.force)),
        line_(file_, coil_, options.made_by, workshop_.get(), options.longest_s) {
    if (!file.start_c) return;
    require_room_for_heat(*file.start_c);
    coil_ = started_at(coil_, *file.start_c, *file.start_c);
  }

  SetBuild build() {
    if (workshop_ && all_is_made()) return std::move(result_);
    // Should this run be killed, what tells of all songs tells of others until they are all made.
    if (workshop_ && !workshop_->is_made("set.json", key_of_set())) workshop_->disown(files_of_all());
    describe();
    weave_cold();
    carry_heat();
    carry_bus();
    judge_and_write();
    if (options_.plan && heat_) {
      tell(0.9, "planning");
      result_.set.plan = plan_set(streams_of_cold_songs(), *heat_, coil_, start_of_evening(), options_.jobs);
    }
    if (workshop_) finish_folder();
    result_.work = {line_.woven(), line_.judged(), written_};
    return std::move(result_);
  }

 private:
  // As a profile with this start is refused, too.
  void require_room_for_heat(double start_c) const {
    for (const auto& [limit, name] :
         {std::pair{coil_.limits.heatsink_c, "heatsink_c"}, std::pair{coil_.limits.junction_c, "junction_c"}})
      if (limit && *limit <= start_c)
        throw bad_input("start_c is " + figure(start_c) + " °C, and the coil's limits." + name + " is " +
                            figure(*limit) + " °C",
                        file_.file, "begin the evening cooler");
  }
  // From a case at the junction's limit nothing can be woven: the switches are still as hot as a burst left
  // them.
  void require_room_after_pause(std::size_t song, const HeatStart& start) const {
    const auto& limit = coil_.limits.junction_c;
    if (!limit || start.case_c < *limit) return;
    throw Error(Fault::outside_limits,
                "song " + std::to_string(song + 1) +
                    " begins so soon after the one before that its switches start at " +
                    figure(start.case_c) + " °C, and limits.junction_c is " + figure(*limit) + " °C",
                file_.file, "lengthen the pause before it; --plan proposes one");
  }
  void tell(double part, const std::string& step) {
    if (!options_.tell) return;
    const std::lock_guard lock(telling_);
    options_.tell(part, step);
  }
  [[nodiscard]] std::size_t songs() const { return file_.songs.size(); }
  [[nodiscard]] HeatStart start_of_evening() const {
    const Heatsink& sink = coil_.heatsink;
    const double sink_c = sink.start_c.value_or(sink.ambient_c);
    return {sink_c, sink.case_start_c.value_or(sink_c)};
  }
  [[nodiscard]] HeatStart cold() const { return {coil_.heatsink.ambient_c, coil_.heatsink.ambient_c}; }
  [[nodiscard]] Tick pause_ticks(std::size_t song) const {
    return ticks_of_pause(file_.pause_after_s(song), kDefaultTickHz);
  }

  // All that the evening is made from.
  [[nodiscard]] std::string key_of_set() const {
    KeyOf key;
    key.add(file_.name).add(file_.coil).add(start_of_evening().sink_c).add(start_of_evening().case_c);
    key.add(options_.plan ? 1.0 : 0.0).add(options_.seek_rest ? 1.0 : 0.0).add(options_.preview ? 1.0 : 0.0);
    for (std::size_t i = 0; i < songs(); ++i)
      key.add(file_.songs[i].file).add(line_.inputs(i)).add(file_.pause_after_s(i));
    for (const SetPage& page : options_.pages) key.add(page.path).add(page.made_with);
    return key.hash();
  }

  // Where nothing changed, there is nothing to do.
  bool all_is_made() {
    if (!workshop_->is_made("set.json", key_of_set())) return false;
    BuiltSet set = from_set_json(workshop_->text_of("set.json"), "set.json");
    for (const std::string& path : files_of(set))
      if (!workshop_->is_made(path, "")) return false;
    result_.strays = workshop_->strays(files_of(set));
    result_.set = std::move(set);
    return true;
  }

  void describe() {
    BuiltSet& set = result_.set;
    set.name = file_.name;
    set.coil_name = coil_.name;
    set.coil_file = file_.coil;
    set.profile = coil_.text;
    set.start_c = start_of_evening().sink_c;
    set.ambient_c = coil_.heatsink.ambient_c;
    if (HeatOfSongs::is_told_by(coil_))
      heat_.emplace(coil_, kDefaultTickHz);
    else
      set.remarks.emplace_back("the profile does not tell heat: every song is woven and judged without it");
  }

  // Every song as if it were alone and the coil at ambient: most stay like that. One that is played twice is
  // woven once.
  void weave_cold() {
    std::map<std::string, std::size_t> first;
    std::vector<std::size_t> different;
    for (std::size_t i = 0; i < songs(); ++i)
      if (first.try_emplace(line_.inputs(i), i).second) different.push_back(i);
    cold_.resize(songs());
    std::atomic<int> done = 0;
    in_parallel(different.size(), options_.jobs, [&](std::size_t piece) {
      const std::size_t i = different[piece];
      cold_[i] = std::make_shared<const WovenSong>(line_.woven_for(i, cold()));
      tell(0.5 * ++done / static_cast<double>(different.size()), "weaving");
    });
    for (std::size_t i = 0; i < songs(); ++i) cold_[i] = cold_[first.at(line_.inputs(i))];
    woven_ = cold_;
  }

  // In order of time: from what the songs before leave, a song holds as it is, or is woven anew for that
  // start.
  void carry_heat() {
    std::optional<Thermal> state;
    if (heat_) state.emplace(heat_->at(start_of_evening()));
    Tick now = 0;
    for (std::size_t i = 0; i < songs(); ++i) {
      BuiltSong& song = result_.set.songs.emplace_back();
      song.number = static_cast<int>(i) + 1;
      song.stem = stem_of(file_.songs[i].file, i, songs());
      song.source = file_.songs[i].file;
      song.ledger_from_cold = cold_[i]->ledger;
      song.pause_after_s = file_.pause_after_s(i);
      if (state) start_song(i, song, *state);
      const BurstStream& stream = woven_[i]->file.stream;
      song.title = woven_[i]->file.title;
      song.remarks = woven_[i]->remarks;
      song.ledger = woven_[i]->ledger;
      song.notes = note_sums(woven_[i]->file.account);
      song.bursts = static_cast<std::int64_t>(stream.bursts.size());
      song.start_s = stream.seconds(now);
      song.length_s = stream.seconds(stream.length);
      result_.set.length_s = stream.seconds(now + stream.length);
      now += stream.length + pause_ticks(i);
      if (state) play_song(i, song, *state);
    }
  }

  void start_song(std::size_t i, BuiltSong& song, const Thermal& state) {
    const HeatStart exact = heat_->never_cooler_than(state);
    song.judged_from = in_whole_degrees(exact);
    if (heat_->holds(cold_[i]->file.stream, *song.judged_from)) return;
    song.judged_from = exact;
    if (heat_->holds(cold_[i]->file.stream, exact)) return;
    require_room_after_pause(i, exact);
    woven_[i] = std::make_shared<const WovenSong>(line_.woven_for(i, exact));
    song.turned_down = true;
  }

  void play_song(std::size_t i, BuiltSong& song, Thermal& state) const {
    song.at_start = {state.junction_c(), state.sink_c()};
    const HeatOfStream heat = heat_->play(woven_[i]->file.stream, state);
    song.highest = {heat.junction_c, heat.sink_c};
    song.at_end = {heat.at_end.junction_c(), heat.at_end.sink_c()};
    state = heat_->rested(heat.at_end, seconds_of(pause_ticks(i)));
  }

  // The supply fills the bus in the pauses. No limit takes credit for droop; it is told so that nobody is
  // surprised.
  void carry_bus() {
    const auto table = current_table(coil_);
    if (!table->has_model()) return;
    std::optional<double> volts;
    for (std::size_t i = 0; i < songs(); ++i) {
      const BurstStream& stream = woven_[i]->file.stream;
      const FiguresOf figures_of = [&](Tick on) {
        return table->figures(stream.microseconds(on) + coil_.drive.pulse_stretch_ns / 1e3);
      };
      const auto bus = bus_of_stream(stream, coil_, figures_of, 0, volts);
      if (!bus) return;
      result_.set.songs[i].lowest_bus_v = bus->lowest_v;
      volts =
          std::min(bus->nominal_v, bus->end_v + *coil_.supply.current_limit_a * seconds_of(pause_ticks(i)) /
                                                    (*coil_.supply.bus_capacitance_uf * 1e-6));
    }
  }

  // The evening first: it takes longest. Its songs are judged each by itself beside it.
  void judge_and_write() {
    std::atomic<int> done = 0;
    in_parallel(songs() + 1, options_.jobs, [&](std::size_t piece) {
      if (piece == 0)
        judge_evening();
      else
        judge_and_write_song(piece - 1);
      tell(0.5 + 0.4 * ++done / static_cast<double>(songs() + 1), "checking and writing");
    });
  }

  void judge_evening() {
    std::vector<const BurstStream*> streams;
    std::vector<Tick> pauses;
    for (std::size_t i = 0; i < songs(); ++i) {
      streams.push_back(&woven_[i]->file.stream);
      pauses.push_back(pause_ticks(i));
    }
    const BurstStream evening = one_stream(streams, pauses);
    BuiltSet& set = result_.set;
    set.evening = line_.judged(start_of_evening(), evening, options_.seek_rest);
    if (heat_) set.heat = heat_->play(evening, heat_->at(start_of_evening()), kCurvePoints).curve;
  }

  void judge_and_write_song(std::size_t i) {
    BuiltSong& song = result_.set.songs[i];
    const HeatStart start = song.judged_from.value_or(start_of_evening());
    const WovenSong& woven = *woven_[i];
    song.judgement = line_.judged(start, woven.file.stream, false);
    require_own_check(song.judgement, song.source, "its stream and set.json were not written");
    if (!workshop_) return;
    BurstFile file = woven.file;
    const Profile profile = started_at(coil_, start.sink_c, start.case_c);
    file.profile = profile.text;
    const std::string key = key_of_start(woven.key, start);
    song.burst_file = "songs/" + song.stem + ".burst";
    write(song.burst_file, key, [&] {
      const Bytes bytes = to_burst_file(file);
      return std::string(bytes.begin(), bytes.end());
    });
    song.stream_hash = workshop_->hash_of(song.burst_file);
    if (!options_.preview) return;
    song.preview_file = "songs/" + song.stem + ".html";
    write(song.preview_file, key, [&] { return options_.preview(file, profile); });
  }

  void write(const std::string& path, const std::string& key, const std::function<std::string()>& content) {
    if (workshop_->make(path, key, content)) ++written_;
  }

  void finish_folder() {
    const std::string key = key_of_set();
    for (const SetPage& page : options_.pages) write(page.path, key, [&] { return page.text(result_.set); });
    write("set.json", key, [&] { return to_set_json(result_.set); });
    result_.strays = workshop_->strays(files_of(result_.set));
    workshop_->tidy();
  }

  // What tells of all songs: it is made of them, and last.
  [[nodiscard]] std::set<std::string> files_of_all() const {
    std::set<std::string> files = {"set.json"};
    for (const SetPage& page : options_.pages) files.insert(page.path);
    return files;
  }
  [[nodiscard]] std::set<std::string> files_of(const BuiltSet& set) const {
    std::set<std::string> files = files_of_all();
    for (const BuiltSong& song : set.songs)
      for (const std::string& path : {song.burst_file, song.preview_file})
        if (!path.empty()) files.insert(path);
    return files;
  }

  [[nodiscard]] std::vector<const BurstStream*> streams_of_cold_songs() const {
    std::vector<const BurstStream*> streams;
    for (const auto& song : cold_) streams.push_back(&song->file.stream);
    return streams;
  }

  [[nodiscard]] static double seconds_of(Tick ticks) {
    return static_cast<double>(ticks) / static_cast<double>(kDefaultTickHz);
  }

  const SetFile& file_;
  const BuildOptions& options_;
  Profile coil_;
  std::unique_ptr<Workshop> workshop_;
  SongLine line_;
  std::optional<HeatOfSongs> heat_;
  std::vector<std::shared_ptr<const WovenSong>> cold_, woven_;
  SetBuild result_;
  std::atomic<int> written_ = 0;
  std::mutex telling_;
};

}  // namespace

std::string this_program(const std::string& version) {
  std::error_code problem;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", problem);
  if (problem) return version;
  try {
    return version + " " + content_hash(read_file(self.string()));
  } catch (const Error&) {
    return version;
  }
}

SetBuild build_set(const SetFile& file, const BuildOptions& options) {
  if (options.jobs < 1 || options.jobs > 64)
    throw Error(Fault::usage, std::to_string(options.jobs) + " jobs", "--jobs", "give 1 to 64");
  return Building(file, options).build();
}

}  // namespace burstloom
