#include "burstloom/stream/blocks.hpp"
#include "command_line.hpp"
#include "played_songs.hpp"
#include "set_folder.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct CheckOptions {
  std::string input, set;
  CoilChoice coil;
  std::string set_profile;  ///< of the set: for captures, which carry none
  std::vector<std::string> played;
  CaptureOptions capture;
  std::optional<double> tolerance_us;
  bool json = false;
};

// Judges what comes in blocks, and aligns it with the songs, if there are any. What is short enough to be
// kept is there as a whole, too, for what needs that: trials of repeats, bus, pictures.
class CheckedStream : public BurstSink {
 public:
  explicit CheckedStream(const CheckOptions& options)
      : options_(options), songs_(read_songs(options.played)) {}

  void begin(const StreamHead& head) override {
    coil_ = head.profile.empty()
                ? choose_coil(options_.coil, options_.set_profile, options_.input, LimitsFrom::set)
                : choose_coil(options_.coil, head.profile, options_.input);
    signs_ = head.capture;
    // Beside the songs that it should hold it is what was played, however it was written down.
    if (!songs_.empty() && !signs_) {
      signs_ = CaptureSigns{.sample_us = 1e6 / static_cast<double>(head.tick_hz)};
      coil_.remarks.emplace_back(
          "taken for a capture: its times hold the clock's error already, none is added");
    }
    const JudgeOptions how = judge_options(signs_, options_.tolerance_us);
    judge_.emplace(coil_.profile, head.tick_hz, how);
    whole_.begin(head);
    extent_ = {};
    extent_.tick_hz = head.tick_hz;
    if (songs_.empty()) return;
    aligner_.emplace(how.tolerance_us);
    for (const SongPlayed& song : songs_) aligner_->add_song(read_stream(song.path, {}).file.stream);
    aligner_->begin(head.tick_hz);
  }

  void take(std::span<const Burst> block) override {
    constexpr std::int64_t kMostKept = 2'000'000;
    judge_->take(block);
    if (aligner_) aligner_->take(block);
    extent_.bursts += static_cast<std::int64_t>(block.size());
    if (extent_.bursts <= kMostKept)
      whole_.take(block);
    else
      std::vector<Burst>().swap(whole_.stream.bursts);
  }

  Judgement finish(const StreamTail& tail) {
    extent_.length = whole_.stream.length = tail.length;
    const bool measured = tail.capture && !tail.capture->exact;
    Judgement judgement = judge_->finish(tail.length, measured && tail.capture->ends_high, whole());
    auto& remarks = judgement.remarks;
    remarks.insert(remarks.begin(), coil_.remarks.begin(), coil_.remarks.end());
    const auto say = [&](const std::vector<std::string>& more) {
      remarks.insert(remarks.end(), more.begin(), more.end());
    };
    say(model_remarks(whole(), coil_.profile));
    if (tail.capture) say(oddities_of(*tail.capture));
    return judgement;
  }

  [[nodiscard]] std::optional<Alignment> alignment() {
    return aligner_ ? std::optional(aligner_->finish()) : std::nullopt;
  }
  /// Nothing when it is too long.
  [[nodiscard]] const BurstStream* whole() const {
    return whole_.stream.bursts.size() == static_cast<std::size_t>(extent_.bursts) ? &whole_.stream : nullptr;
  }
  [[nodiscard]] const Extent& extent() const { return extent_; }
  [[nodiscard]] const ChosenCoil& coil() const { return coil_; }
  [[nodiscard]] const std::vector<SongPlayed>& songs() const { return songs_; }

 private:
  const CheckOptions& options_;
  std::vector<SongPlayed> songs_;
  ChosenCoil coil_;
  std::optional<CaptureSigns> signs_;
  std::optional<RunningJudge> judge_;
  std::optional<Aligner> aligner_;
  WholeStream whole_;
  Extent extent_;
};

void check(CheckOptions options, Answer& answer) {
  if (!options.set.empty()) {
    SetStreams set = streams_of_set(options.set);
    options.played = std::move(set.paths);
    options.set_profile = std::move(set.profile);
  }
  Progress progress(1);
  progress.next("reading and judging");
  CheckedStream checked(options);
  const StreamTail tail = read_in_blocks(options.input, options.capture, checked);
  const Judgement judgement = checked.finish(tail);
  const std::optional<Alignment> alignment = checked.alignment();
  progress.done();
  answer.exit_code = judgement.verdict == Verdict::within_limits ? 0 : 1;
  if (options.json) {
    Json json = to_json(judgement, checked.extent());
    json["judged_by"] = to_json(checked.coil());
    if (alignment) json["evening"] = to_json(*alignment, checked.songs());
    return print_json(json);
  }
  print(one_line(judgement) + "\n");
  print("  " + grouped(checked.extent().bursts) + " bursts in " + song_length(checked.extent().length_s()) +
        "\n  " + limits_line(checked.coil()) + "\n");
  print(describe(judgement));
  if (checked.whole() != nullptr) print(sparklines(*checked.whole(), checked.coil().profile, judgement));
  if (alignment) print(describe(*alignment, checked.songs()));
}

}  // namespace

void add_check(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand(
      "check", "Judges a stream or a capture (.burst .csv .vcd .wav) against a coil's limits");
  const auto options = std::make_shared<CheckOptions>();
  command->add_option("STREAM", options->input, "the stream or capture")->required();
  add_coil_choice(*command, options->coil);
  auto* played =
      command->add_option("--played", options->played,
                          "a song that the capture should hold (.burst); once for each, in their order");
  command
      ->add_option("--set", options->set,
                   "the folder of a set, or its set.json: its songs/*.burst are those played")
      ->excludes(played);
  command->add_option("--wire", options->capture.wire, "which wire of a VCD capture");
  command->add_flag("--invert", options->capture.invert, "the gate is active low");
  command->add_option("--tolerance-us", options->tolerance_us,
                      "how well the capture's edges are known, 0 to 5 (default: one sample)");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom check capture.vcd --coil coil.toml --wire gate");
  command->callback([options, &answer] { check(*options, answer); });
}

}  // namespace burstloom::command
