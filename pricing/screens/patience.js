// anywidget gives a widget two seconds to begin, and one that is later hears nothing any more: on a busy machine a page
// would stand there with figures that never change. It may take as long as a page may. Runs before any widget is made.
{
  const within = AbortSignal.timeout.bind(AbortSignal);
  AbortSignal.timeout = (ms) => within(ms === 2000 ? 120_000 : ms);
}
