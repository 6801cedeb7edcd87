class PlanCount: pass
def count_plans(): pass
