#include "controls/timeline.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>
#include <vector>

namespace halflight::controls {

namespace {

constexpr Seconds kNever = std::numeric_limits<Seconds>::max();
constexpr Seconds kDecisionStep = 300;  // people reconsider every five minutes of the clock
constexpr Seconds kDecisionsPerDay = kDay / kDecisionStep;

/// Walks through a set in time: whether `t` is inside, and whether it is the instant of entering or leaving.
class Cursor {
 public:
  explicit Cursor(const IntervalSet& set)
      : first_(set.intervals().data()),
        next_(first_),
        end_(next_ + set.size()),
        change_(next_ == end_ ? kNever : next_->begin) {}
  void move_to(Seconds t) {
    enters = leaves = false;
    if (t != change_) return;
    leaves = inside;
    enters = inside = !inside;
    if (leaves) ++next_;
    change_ = inside ? next_->end : next_ == end_ ? kNever : next_->begin;
  }
  /// The next instant at which something changes.
  [[nodiscard]] Seconds change() const { return change_; }
  /// Of the interval that is now or comes next.
  [[nodiscard]] std::size_t number() const { return static_cast<std::size_t>(next_ - first_); }
  bool inside = false;
  bool enters = false;
  bool leaves = false;

 private:
  const Interval* first_;
  const Interval* next_;
  const Interval* end_;
  Seconds change_;
};

/// After-hours use: whoever is there presses at arrival, and again whenever the time runs out.
IntervalSet overrides(const IntervalSet& after_hours, Seconds lasts) {
  std::vector<Interval> held;
  if (lasts <= 0) return {};
  for (const Interval& stay : after_hours.intervals()) {
    const Seconds presses = (stay.end - stay.begin + lasts - 1) / lasts;
    held.push_back({stay.begin, stay.begin + presses * lasts});
  }
  return IntervalSet(std::move(held));
}

IntervalSet widened(const IntervalSet& set, Seconds before, Seconds after) {
  std::vector<Interval> wide = set.intervals();
  for (Interval& i : wide) {
    i.begin -= before;
    i.end += after;
  }
  return IntervalSet(std::move(wide));
}

Seconds whole(double seconds) { return std::llround(seconds); }

/// The sets that a sequence is walked through with.
struct Sets {
  IntervalSet window;   // of the schedule
  IntervalSet allowed;  // outside it everything is swept off
  bool sweeps = false;

  explicit Sets(const TimelineInputs& in) {
    const IntervalSet year({{0, in.horizon}});
    const bool by_schedule = in.sequence.on.by == domain::OnRule::By::schedule;
    std::optional<domain::ScheduleRule> rule = in.sequence.schedule;
    if (by_schedule && !rule) rule.emplace();
    window = year;
    allowed = year;
    if (!rule) return;
    window = intersected(
        widened(in.open, by_schedule ? whole(rule->before_open_s) : 0, whole(rule->after_close_s)), year);
    if (!rule->sweeps_off) return;
    sweeps = true;
    const IntervalSet held = overrides(subtracted(in.hands.presence(), window), whole(rule->override_s));
    allowed = intersected(united(window, held), year);
  }
};

const IntervalSet kNobody;

class Walk {
 public:
  explicit Walk(const TimelineInputs& in)
      : in_(in),
        on_rule_(in.sequence.on),
        sets_(in),
        motion_(in.motion),
        people_(in.hands.presence()),
        served_(in.served == nullptr ? in.hands.presence() : *in.served),
        asleep_(in.asleep == nullptr ? kNobody : *in.asleep),
        cleaning_(in.cleaning),
        window_(sets_.window),
        allowed_(sets_.allowed) {
    using By = domain::OnRule::By;
    by_hand_ = on_rule_.by == By::hand;
    by_motion_ = on_rule_.by == By::occupancy;
    partial_ = by_motion_ && on_rule_.level < 1.0;
    // Where nothing else follows vacancy, people may switch off as they leave a room that they or motion lit.
    off_by_hand_ = by_hand_ || (by_motion_ && !in.sequence.vacancy);
    if (in.sequence.vacancy) {
      vacancy_ = *in.sequence.vacancy;
      delay_ = full_delay_ = whole(vacancy_.delay_s);
      brief_visit_ = whole(vacancy_.brief_visit_s);
      steps_ = vacancy_.step_level > 0.0;
      off_after_ = vacancy_.off_after_s < 0.0 ? kNever : whole(vacancy_.off_after_s);
      warning_ = whole(vacancy_.warning_s);
    }
    sweep_warning_ = whole(vacancy_.warning_s);
    if (in.sequence.manual && in.sequence.manual->holds_until == domain::ManualRule::HoldsUntil::time_limit)
      raise_lasts_ = std::max<Seconds>(whole(in.sequence.manual->time_limit_s), 1);
    // A scene is called for whoever is there and holds while a vacancy delay runs: without one, gaps show.
    brief_gaps_do_nothing_ = !partial_ && !off_by_hand_ && (in.scene_use.empty() || in.sequence.vacancy);
    if (in.sequence.vacancy) wait_for(full_delay_);
    for (const IntervalSet* when : in.scene_when) scene_when_.emplace_back(when == nullptr ? kNobody : *when);
  }

  Timeline run() {
    if (in_.with_causes) timeline_.segments.reserve(2 * in_.motion.size() + 16);
    for (Seconds t = 0; t < in_.horizon;) {
      Seconds next = in_.horizon;
      for (Cursor* cursor : {&motion_, &people_, &served_, &asleep_, &cleaning_, &window_, &allowed_}) {
        cursor->move_to(t);
        next = std::min(next, cursor->change());
      }
      for (Cursor& when : scene_when_) {
        when.move_to(t);
        if (when.enters || when.leaves) scene_hour_ = -1;
        next = std::min(next, when.change());
      }
      while (next_lowered_at() <= t) lowered_to_ = in_.lowered[next_lowered_++].step;
      next = std::min(next, next_lowered_at());
      answer_events(t);
      if (on_ && brief_gaps_do_nothing_) pass_brief_gaps(t, next);
      while (t < next) t = on_ ? pass_lit(t, next) : pass_dark(t, next);
    }
    return std::move(timeline_);
  }

 private:
  // --- events
  // ----------------------------------------------------------------------------------------------------

  void answer_events(Seconds t) {
    const bool noticed = motion_.inside && !asleep_.inside;
    if (noticed || !served_.inside || !allowed_.inside) answer_at_ = kNever;
    if (on_ && !allowed_.inside) switch_off(Cause::off_by_schedule);
    if (motion_.enters && on_ && t - empty_since_ >= delay_) visit_since_ = t;  // back from the step
    if (motion_.leaves) begin_delay(t);
    if (people_.leaves && on_ && off_by_hand_ && in_.hands.off_at_departure(people_.number() - 1))
      switch_off(Cause::off_by_hand);
    if (!allowed_.inside) return;

    if (by_motion_) {
      const bool begins = motion_.enters || allowed_.enters || asleep_.leaves;
      if (!on_ && motion_.inside && begins && !asleep_.inside) switch_on(t, Cause::on_by_motion);
      // Whoever comes into the dark unnoticed waits for the light, and then waves, or goes to the switch
      // where somebody sleeps.
      const bool comes = served_.inside && (served_.enters || allowed_.enters);
      if (!on_ && comes) answer_at_ = t + in_.hands.answers_after_s();
    } else if (!by_hand_) {
      const bool always = on_rule_.by == domain::OnRule::By::always;
      const Cause cause = always ? Cause::always_on : Cause::on_by_schedule;
      // Opening is an event for a room that is lit already too: its delay starts anew.
      const bool opens = window_.enters || allowed_.enters;
      if (window_.inside && (opens || (!on_ && motion_.enters && !asleep_.inside))) switch_on(t, cause);
      const bool pressed = people_.inside && (people_.enters || allowed_.enters);
      if (!on_ && !window_.inside && pressed) switch_on(t, Cause::override_by_hand);
    }
    const bool arrives = people_.inside && (people_.enters || allowed_.enters);
    if (arrives) undecided_ = true;
    // Whether to raise is asked once the sensors have noticed who came.
    if (undecided_ && people_.inside && (by_hand_ || (partial_ && on_))) {
      undecided_ = false;
      decided_at_ = t;
      const bool opens_around_them = allowed_.enters && !people_.enters;
      const bool wants = cleaning_.inside || (opens_around_them ? in_.hands.wants_light(t)
                                                                : in_.hands.on_at_arrival(people_.number()));
      if (by_hand_ && !on_ && wants) switch_on(t, cleaning_.inside ? Cause::cleaning : Cause::on_by_hand);
      if (partial_ && wants) raise(t);
    }
  }

  /// The delay that begins now, or runs.
  void wait_for(Seconds delay) {
    delay_ = delay;
    brief_ = steps_ ? delay_ : delay_ - std::min(warning_, delay_);
  }
  /// The last motion has been: how long the visit was decides how long the light waits.
  void begin_delay(Seconds t) {
    empty_since_ = t;
    if (brief_visit_ > 0)
      wait_for(t - visit_since_ < brief_visit_ ? std::min(whole(vacancy_.brief_delay_s), full_delay_)
                                               : full_delay_);
  }

  void switch_on(Seconds t, Cause cause) {
    answer_at_ = kNever;
    on_ = true;
    raised_ = false;
    cause_ = cause;
    visit_since_ = t;
    if (brief_visit_ > 0) wait_for(full_delay_);
    if (!motion_.inside) empty_since_ = t;
  }
  void switch_off(Cause cause) {
    on_ = false;
    raised_ = false;
    cause_ = cause;
  }
  void raise(Seconds t) {
    raised_ = true;
    raised_until_ = raise_lasts_ == kNever ? kNever : t + raise_lasts_;
  }

  // --- between events
  // --------------------------------------------------------------------------------------------

  /// Both return how far they came: to the end, or to where the light came on or went off.
  Seconds pass_dark(Seconds t, Seconds end) {
    const bool may_switch_on = by_hand_ && people_.inside && allowed_.inside;
    const Seconds at = may_switch_on ? in_.hands.switches_while_staying(t, end, decided_at_) : kNever;
    if (answer_at_ < std::min(at, end)) {
      const Seconds answers = std::exchange(answer_at_, kNever);
      emit(t, answers, {Setting::Kind::off}, cause_);
      if (in_.hands.wants_light(answers))
        switch_on(answers, by_hand_ || asleep_.inside ? Cause::on_by_hand
                           : by_motion_               ? Cause::on_by_motion
                                                      : Cause::on_by_schedule);
      return answers;
    }
    emit(t, std::min(at, end), {Setting::Kind::off}, cause_);
    if (at == kNever) return end;
    switch_on(at, Cause::on_by_hand);
    return at;
  }

  /// Where a lit room stands between two instants.
  struct Stage {
    enum class Kind { in_use, waiting, warning, stepped, step_warning, off } kind = Kind::in_use;
    Seconds begin = -1;
    Seconds until = kNever;
  };

  [[nodiscard]] Stage stage_at(Seconds t) const {
    using Kind = Stage::Kind;
    if (motion_.inside || !in_.sequence.vacancy) return {Kind::in_use};
    const Seconds since = empty_since_;
    const Seconds empty = t - since;
    if (!steps_) {
      const Seconds dip = delay_ - std::min(warning_, delay_);
      if (empty < dip) return {Kind::waiting, since, since + dip};
      if (empty < delay_) return {Kind::warning, since + dip, since + delay_};
      return {Kind::off, since + delay_};
    }
    if (empty < delay_) return {Kind::waiting, since, since + delay_};
    if (off_after_ == kNever) return {Kind::stepped, since + delay_};
    const Seconds off = delay_ + off_after_;
    const Seconds dip = off - std::min(warning_, off_after_);
    if (empty < dip) return {Kind::stepped, since + delay_, since + dip};
    if (empty < off) return {Kind::step_warning, since + dip, since + off};
    return {Kind::off, since + off};
  }

  /// Somebody is there and no sensor knows: people heed a dip or not, and answer when light is taken from
  /// them.
  void meet_unnoticed_people(Seconds t, Stage::Kind stage) {
    using Kind = Stage::Kind;
    if (stage == Kind::warning || stage == Kind::step_warning) {
      ++timeline_.dips_on_people;
      if (in_.hands.heeds_dip(t)) answer_at_ = t + in_.hands.answers_after_s();
    } else if (stage == Kind::off || stage == Kind::stepped) {
      ++timeline_.taken_from_people;
      answer_at_ = t + in_.hands.answers_after_s();
    }
  }

  /// Passes the comings and goings that no rule answers: a lit room, gaps shorter than the delay and nothing
  /// else happening. A busy corridor spends most of its year here. Leaves `t` at the last event passed and
  /// `next` at the one after it.
  void pass_brief_gaps(Seconds& t, Seconds& next) {
    Seconds others = std::min({in_.horizon, asleep_.change(), cleaning_.change(), window_.change(),
                               allowed_.change(), next_lowered_at()});
    for (const Cursor& when : scene_when_) others = std::min(others, when.change());
    Seconds quiet = std::min(others, sweep_warning_from());
    if (!in_.scene_use.empty()) quiet = std::min(quiet, (t / kHour + 1) * kHour);
    const bool vacancy = in_.sequence.vacancy.has_value();
    if (!in_.with_causes && &in_.motion == &in_.hands.presence() && next < quiet) {
      // Nothing to tell: on to the last instant before a gap that is longer or something else happens.
      const Seconds from = t;
      while (next < quiet && (motion_.inside || !vacancy || next - empty_since_ <= brief_)) {
        motion_.move_to(next);
        if (motion_.leaves) begin_delay(next);
        t = next;
        next = motion_.change();
      }
      people_ = served_ = motion_;
      emit(from, t, in_use_setting(from), cause_);
      next = std::min(next, others);
      return;
    }
    while (next < quiet) {
      const bool in_use = motion_.inside || !vacancy;
      if (!in_use && next - empty_since_ > brief_) return;
      const Setting setting = in_use_setting(t);
      emit(t, next, setting, !in_use ? Cause::waiting : cause_of(setting));
      motion_.move_to(next);
      people_.move_to(next);
      served_.move_to(next);
      if (motion_.leaves) begin_delay(next);
      t = next;
      next = std::min({others, motion_.change(), people_.change(), served_.change()});
    }
  }

  Seconds pass_lit(Seconds t, Seconds end) {
    while (t < end) {
      const Stage stage = stage_at(t);
      if (served_.inside && !motion_.inside && t == stage.begin) meet_unnoticed_people(t, stage.kind);
      if (stage.kind == Stage::Kind::off) {
        switch_off(Cause::off_vacant);
        decided_at_ = t;  // whoever is there reconsiders later
        return t;
      }
      Seconds next = std::min({end, stage.until, answer_at_});
      const bool stepped = stage.kind == Stage::Kind::stepped || stage.kind == Stage::Kind::step_warning;
      if (stepped) raised_ = false;
      if (raised_ && raised_until_ <= t) raised_ = false;
      if (raised_) next = std::min(next, raised_until_);
      if (!in_.scene_use.empty() && !stepped) next = std::min(next, (t / kHour + 1) * kHour);
      const Seconds sweep_dip = sweep_warning_from();
      if (t < sweep_dip) next = std::min(next, sweep_dip);
      Seconds raise_at = kNever;
      if (partial_ && !raised_ && people_.inside && !stepped) {
        raise_at = in_.hands.switches_while_staying(t, next, decided_at_);
        next = std::min(next, raise_at);
      }
      emit_lit(t, next, stage.kind, t >= sweep_dip);
      if (raise_at == next) raise(next);
      if (answer_at_ == next) {
        answer_at_ = kNever;
        begin_delay(next);
      }
      t = next;
    }
    return end;
  }

  /// When the dip before the coming sweep begins.
  [[nodiscard]] Seconds sweep_warning_from() const {
    if (!sets_.sweeps || !allowed_.inside || allowed_.change() >= in_.horizon) return kNever;
    return allowed_.change() - sweep_warning_;
  }

  void emit_lit(Seconds t, Seconds end, Stage::Kind stage, bool before_sweep) {
    using Kind = Stage::Kind;
    Setting setting{partial_ && !raised_ ? Setting::Kind::partly_on : Setting::Kind::normal};
    Cause cause = cause_;
    if (partial_) cause = raised_ ? Cause::raised_by_hand : Cause::partly_by_motion;
    if (stage == Kind::stepped || stage == Kind::step_warning) {
      setting = {Setting::Kind::stepped_down};
      cause = Cause::stepped_down;
    } else {
      const Setting in_use = in_use_setting(t);
      const bool called =
          in_use.kind == Setting::Kind::stored_scene &&
          (is_lowered(in_use) ? !partial_ || raised_ : people_.inside || stage != Kind::in_use);
      if (called) {
        setting = in_use;
        cause = cause_of(in_use);
      }
    }
    if (stage == Kind::waiting) cause = Cause::waiting;
    if (stage == Kind::in_use && !motion_.inside && !people_.inside && off_by_hand_) cause = Cause::left_on;
    if (stage == Kind::warning || stage == Kind::step_warning || before_sweep) {
      setting.dipped = true;
      cause = before_sweep ? Cause::sweep_warning : Cause::warning;
    }
    emit(t, end, setting, cause);
  }

  /// What lit groups stand at while the room is in use.
  [[nodiscard]] Setting in_use_setting(Seconds t) {
    const std::optional<std::uint16_t> scene = scene_at(t);
    if (scene) return {Setting::Kind::stored_scene, *scene};
    if (!lowered_to_) return {Setting::Kind::normal};
    return {Setting::Kind::stored_scene, static_cast<std::uint16_t>(in_.scene_use.size() + *lowered_to_)};
  }
  [[nodiscard]] bool is_lowered(Setting setting) const {
    return setting.kind == Setting::Kind::stored_scene && setting.scene >= in_.scene_use.size();
  }
  /// Why a lit group stands at what it is while the room is in use.
  [[nodiscard]] Cause cause_of(Setting setting) const {
    if (setting.kind != Setting::Kind::stored_scene) return cause_;
    return is_lowered(setting) ? Cause::lowered_by_hand : Cause::scene;
  }
  [[nodiscard]] Seconds next_lowered_at() const {
    return next_lowered_ < in_.lowered.size() ? in_.lowered[next_lowered_].from : kNever;
  }

  [[nodiscard]] std::optional<std::uint16_t> scene_at(Seconds t) {
    if (in_.scene_use.empty()) return std::nullopt;
    if (t / kHour != scene_hour_) {
      scene_hour_ = t / kHour;
      scene_ = draw_scene(t);
    }
    return scene_;
  }

  [[nodiscard]] std::optional<std::uint16_t> draw_scene(Seconds t) const {
    static const std::uint32_t kScene = hash_name("scene of the hour");
    double u = random_uniform(in_.key, {in_.replicate, static_cast<std::uint32_t>(t / kDay), kScene,
                                        static_cast<std::uint32_t>(t % kDay / kHour)});
    for (std::size_t scene = 0; scene < in_.scene_use.size(); ++scene) {
      if (!can_be_called(scene)) continue;
      if (u < in_.scene_use[scene]) return static_cast<std::uint16_t>(scene);
      u -= in_.scene_use[scene];
    }
    return std::nullopt;
  }

  [[nodiscard]] bool can_be_called(std::size_t scene) const {
    return in_.scene_when.empty() || in_.scene_when[scene] == nullptr || scene_when_[scene].inside;
  }

  void emit(Seconds begin, Seconds end, Setting setting, Cause cause) {
    if (begin >= end) return;
    if (!in_.with_causes) cause = Cause::not_switched_on;
    std::vector<Segment>& all = timeline_.segments;
    if (!all.empty() && all.back().setting == setting && all.back().cause == cause) {
      all.back().end = end;
    } else {
      all.push_back({begin, end, setting, cause});
    }
  }

  const TimelineInputs& in_;
  const domain::OnRule& on_rule_;
  const Sets sets_;
  Cursor motion_;
  Cursor people_;
  Cursor served_;
  Cursor asleep_;
  Cursor cleaning_;
  Cursor window_;
  Cursor allowed_;
  std::vector<Cursor> scene_when_;  // as TimelineInputs::scene_when
  bool by_hand_ = false;
  bool by_motion_ = false;
  bool partial_ = false;
  bool off_by_hand_ = false;
  domain::VacancyRule vacancy_;  // its dip also warns of a sweep where the sequence has no vacancy rule
  bool steps_ = false;
  Seconds full_delay_ = 0;
  Seconds delay_ = 0;  // that begins now, or runs: shorter after a brief visit
  Seconds brief_visit_ = 0;
  Seconds off_after_ = kNever;
  Seconds warning_ = 0;
  Seconds sweep_warning_ = 0;
  Seconds raise_lasts_ = kNever;
  bool brief_gaps_do_nothing_ = false;
  Seconds brief_ = kNever;  // no longer than this, a gap only waits

  bool on_ = false;
  bool raised_ = false;
  Cause cause_ = Cause::not_switched_on;
  Seconds raised_until_ = kNever;
  Seconds empty_since_ = 0;
  Seconds visit_since_ = 0;
  Seconds answer_at_ = kNever;    // when somebody unnoticed moves on purpose, or goes to the switch
  bool undecided_ = false;        // whoever came has not yet decided about the light
  Seconds decided_at_ = -1;       // the arrival, where the step of the clock does not ask again
  std::size_t next_lowered_ = 0;  // in TimelineInputs::lowered
  std::optional<std::uint16_t> lowered_to_;
  Seconds scene_hour_ = -1;
  std::optional<std::uint16_t> scene_;  // called in that hour
  Timeline timeline_;
};

}  // namespace

Hands::Hands(const IntervalSet& presence, HandHabits habits, std::function<double(Seconds)> task_daylight_lx,
             RandomKey key, std::uint32_t replicate)
    : presence_(presence),
      habits_(std::move(habits)),
      task_daylight_lx_(std::move(task_daylight_lx)),
      key_(key),
      replicate_(replicate),
      staying_(key, replicate, hash_name("switch on while staying")),
      arrivals_(presence.size(), Answer::unasked),
      departures_(presence.size(), Answer::unasked) {}

RandomCounter Hands::counter(Seconds t, std::uint32_t question) const {
  return {replicate_, static_cast<std::uint32_t>(t / kDay), question, static_cast<std::uint32_t>(t % kDay)};
}

bool Hands::happens(double chance, RandomCounter question) const {
  // What is certain needs no draw: at night nobody on a stair leaves the switch alone.
  if (chance <= 0.0 || chance >= 1.0) return chance >= 1.0;
  return random_uniform(key_, question) < chance;
}

bool Hands::wants_light(Seconds t) const {
  static const std::uint32_t kArrival = hash_name("switch on at arrival");
  if (!habits_.on_at_arrival) return true;
  return happens(habits_.on_at_arrival(daylight_lx(t)), counter(t, kArrival));
}

bool Hands::on_at_arrival(std::size_t stay) {
  Answer& answer = arrivals_[stay];
  if (answer == Answer::unasked)
    answer = wants_light(presence_.intervals()[stay].begin) ? Answer::yes : Answer::no;
  return answer == Answer::yes;
}

bool Hands::off_at_departure(std::size_t stay) {
  static const std::uint32_t kDeparture = hash_name("switch off at departure");
  if (!habits_.off_at_departure) return false;
  Answer& answer = departures_[stay];
  if (answer == Answer::unasked) {
    const Seconds t = presence_.intervals()[stay].end;
    // Nobody is known to come back after the last stay: a long absence.
    const Seconds absence = stay + 1 < presence_.size() ? presence_.intervals()[stay + 1].begin - t : kDay;
    answer = happens(habits_.off_at_departure(absence), counter(t, kDeparture)) ? Answer::yes : Answer::no;
  }
  return answer == Answer::yes;
}

bool Hands::heeds_dip(Seconds t) const {
  static const std::uint32_t kDip = hash_name("heeds a dip");
  return happens(habits_.heeds_dip, counter(t, kDip));
}

Seconds Hands::switches_while_staying(Seconds from, Seconds to, Seconds but_not_at) {
  const double most = std::max(habits_.on_while_staying_below, habits_.on_while_staying_above);
  for (Seconds step = (from + kDecisionStep - 1) / kDecisionStep; step * kDecisionStep < to; ++step) {
    const Seconds t = step * kDecisionStep;
    if (t == but_not_at) continue;
    const double u = staying_.at(static_cast<std::uint32_t>(t / kDay),
                                 static_cast<std::uint32_t>(step % kDecisionsPerDay));
    if (u >= most) continue;  // spares the look at the daylight
    const bool dim = daylight_lx(t) < habits_.on_while_staying_threshold_lx;
    if (u < (dim ? habits_.on_while_staying_below : habits_.on_while_staying_above)) return t;
  }
  return kNever;
}

const char* words_of(Cause cause) {
  switch (cause) {
    case Cause::not_switched_on:
      return "nobody has switched it on";
    case Cause::off_by_hand:
      return "switched off by hand on leaving";
    case Cause::off_vacant:
      return "off because nobody was noticed";
    case Cause::off_by_schedule:
      return "swept off after hours";
    case Cause::on_by_hand:
      return "switched on by hand";
    case Cause::on_by_motion:
      return "switched on by movement";
    case Cause::partly_by_motion:
      return "partly on by movement";
    case Cause::raised_by_hand:
      return "raised by hand";
    case Cause::on_by_schedule:
      return "on by the schedule";
    case Cause::always_on:
      return "always on";
    case Cause::override_by_hand:
      return "held on by hand after hours";
    case Cause::cleaning:
      return "switched on for cleaning";
    case Cause::scene:
      return "a scene called by hand";
    case Cause::lowered_by_hand:
      return "lowered by hand";
    case Cause::waiting:
      return "nobody noticed, the vacancy delay runs";
    case Cause::stepped_down:
      return "nobody noticed, at the step level";
    case Cause::warning:
      return "dipped as a warning before off";
    case Cause::sweep_warning:
      return "dipped as a warning before the sweep after hours";
    case Cause::left_on:
      return "empty and left on";
  }
  return "";
}

Rank rank_of(Cause cause) {
  switch (cause) {
    case Cause::off_vacant:
    case Cause::waiting:
    case Cause::stepped_down:
    case Cause::warning:
      return Rank::vacancy;
    case Cause::not_switched_on:
    case Cause::off_by_hand:
    case Cause::on_by_hand:
    case Cause::raised_by_hand:
    case Cause::override_by_hand:
    case Cause::cleaning:
    case Cause::scene:
    case Cause::lowered_by_hand:
    case Cause::left_on:
      return Rank::manual;
    case Cause::off_by_schedule:
    case Cause::on_by_motion:
    case Cause::partly_by_motion:
    case Cause::on_by_schedule:
    case Cause::always_on:
    case Cause::sweep_warning:
      return Rank::standing;
  }
  return Rank::standing;
}

const Segment& Timeline::at(Seconds t) const {
  const auto after = std::upper_bound(segments.begin(), segments.end(), t,
                                      [](Seconds value, const Segment& s) { return value < s.begin; });
  return *std::prev(after);
}

GroupLevels::GroupLevels(const domain::Sequence& sequence, double normal, std::span<const double> scenes) {
  const domain::VacancyRule vacancy = sequence.vacancy.value_or(domain::VacancyRule{});
  const auto add = [&](double level) {
    by_index_.push_back(level);
    by_index_.push_back(level * vacancy.warning_level);
  };
  add(0.0);
  add(normal);
  // Partial-on is a ceiling until somebody raises it.
  add(std::min(sequence.on.level, normal));
  add(std::min(vacancy.step_level, normal));
  for (const double level : scenes) add(level);
}

Timeline base_timeline(const TimelineInputs& inputs) { return Walk(inputs).run(); }

}  // namespace halflight::controls
