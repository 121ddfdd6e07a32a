// Made by `python tests/architecture/generated.py` from the TypedDicts of kit/widgets; do not edit it by hand.

/** The Python widget as its JavaScript sees it. */
interface Model {
  get(name: string): any;
  set(name: string, value: unknown): void;
  save_changes(): void;
  send(message: object): void;
  on(event: string, callback: (...said: any[]) => void): void;
  off(event: string, callback: (...said: any[]) => void): void;
}

type Severity = "stop" | "caution" | "note";

/** A finding as the table shows it. */
interface FindingView {
  severity: Severity;
  sentence: string;
  source: string;
}

/** A layer as the table shows it; ``colour_index`` counts the layers of one kind. */
interface PhaseView {
  name: string;
  kind: "water" | "oil" | "other";
  total: string;
  colour_index: number;
  findings: Array<FindingView>;
}

/** A line as the table shows it; every number is already words. */
interface LineView {
  key: string;
  material: string;
  plain: string;
  entry: string;
  percent: string;
  grams: string;
  hold: "share" | "level" | "fill";
  change: string;
  findings: Array<FindingView>;
  field_marks: Record<string, Severity>;
}

/** All that the table shows. ``lines`` holds one list for each of ``phases``. */
interface FormulaView {
  title: string;
  subtitle: string;
  phases: Array<PhaseView>;
  lines: Array<Array<LineView>>;
  total: string;
  total_state: "ok" | "stop";
  total_sentence: string;
  findings: Array<FindingView>;
  grams_head: string;
  can_undo: boolean;
  can_redo: boolean;
  add_name: string;
}

/** One layer as it stands in the bottle. [mm] */
interface LayerView {
  kind: "water" | "oil" | "other";
  name: string;
  bottom: number;
  top: number;
  label: string;
  colour: string;
}

/** One line of the formula at every ratio, as points (oil, lower edge, upper edge). [% w/w of the whole] */
interface BandView {
  name: string;
  kind: "water" | "oil" | "other";
  points: Array<[number, number, number]>;
  colour: string;
}

/** Where a rule stops holding. [% w/w oil layer of the whole] */
interface EndView {
  at: number;
  label: string;
}

/** All that the view shows; ``message`` alone where there is nothing to draw. */
interface RatioPicture {
  message?: string;
  title?: string;
  subtitle?: string;
  axis?: string;
  outline?: Array<[number, number]>;
  height?: number;
  layers?: Array<LayerView>;
  room_label?: string;
  grip?: number | null;
  most?: number;
  now?: number;
  now_label?: string;
  step?: number;
  bands?: Array<BandView>;
  low?: EndView;
  high?: EndView;
  is_open?: boolean;
  crossings?: Array<EndView>;
  serial?: number;
}

/** One box to type in: ``name`` is what a screen reader says, ``before`` and ``start`` what was read earlier. */
interface RowView {
  key: string;
  name: string;
  label: string;
  unit: string;
  hint: string;
  how: string;
  limits: string;
  before: string;
  start: string;
  optional: boolean;
}

/** The rows of one bottle. */
interface GroupView {
  title: string;
  rows: Array<RowView>;
}

/** All rows on show, and what stands on the button below them; without words there is none. */
interface RowsView {
  groups: Array<GroupView>;
  save: string;
}

/** What is said about a row: how it is read, in words, and what is odd about it. */
interface Said {
  words: string;
  findings: Array<FindingView>;
}
